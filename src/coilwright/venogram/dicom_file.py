"""A DICOM file opened, and refused in one sentence where it is no run of X-ray frames."""

from pathlib import Path

import pydicom
from pydicom.dataset import Dataset
from pydicom.errors import InvalidDicomError
from pydicom.uid import UID, ExplicitVRBigEndian, ExplicitVRLittleEndian, ImplicitVRLittleEndian

from coilwright.errors import FileProblem, Problem
from coilwright.venogram.functional_groups import PER_FRAME, items_of, positive, stated, words

# PS3.4 Annex B.5: the storage classes whose pixels are an X-ray projection.
X_RAY_CLASSES = {
    "1.2.840.10008.5.1.4.1.1.12.1": "X-Ray Angiographic Image Storage",
    "1.2.840.10008.5.1.4.1.1.12.1.1": "Enhanced XA Image Storage",
    "1.2.840.10008.5.1.4.1.1.12.2": "X-Ray Radiofluoroscopic Image Storage",
    "1.2.840.10008.5.1.4.1.1.12.2.1": "Enhanced XRF Image Storage",
}
X_RAY_MODALITIES = {"XA", "RF"}
# Retired; one file with both planes of a biplane run.
BIPLANE_CLASS = "1.2.840.10008.5.1.4.1.1.12.3"
# A grey screen capture of a run is measured like a display-processed run; PS3.4 B.5.
CAPTURE_CLASSES = {
    "1.2.840.10008.5.1.4.1.1.7",
    "1.2.840.10008.5.1.4.1.1.7.2",
    "1.2.840.10008.5.1.4.1.1.7.3",
}
# Modalities in words, where a file names no storage class. PS3.3 C.7.3.1.1.1.
MODALITY_WORDS = {
    "CR": "a computed radiograph",
    "CT": "a CT image",
    "DX": "a digital radiograph",
    "ECG": "an electrocardiogram",
    "MR": "an MR image",
    "NM": "a nuclear medicine image",
    "OT": "an object of another kind",
    "SEG": "a segmentation",
    "SR": "a structured report",
    "US": "an ultrasound image",
}
PLANE_WORDS = {"BIPLANE A": "A", "BIPLANE B": "B", "PLANE A": "A", "PLANE B": "B"}
LARGE = "1 MB"
PIXEL_DATA = 0x7FE00010
GIVE_RUN = "give an XA or RF run"


def problem(file: Path, field: str, found: str, mend: str) -> FileProblem:
    """The refusal of a file."""
    return FileProblem(file, Problem(field=field, found=found, mend=mend))


def open_run(file: Path, *, with_pixels: bool = True) -> Dataset:
    """The header of an X-ray run, its pixels not yet decoded; nor read, where they are not wanted.

    Raises
    ------
    FileProblem
        Not DICOM, damaged, of another kind, in colour, without pixels, both planes in one.
    """
    dataset = _read(file, None if with_pixels else LARGE)
    _require_x_ray(dataset, file)
    _require_one_plane(dataset, file)
    return dataset


def is_capture(dataset: Dataset) -> bool:
    """Whether the file is a screen capture (Secondary Capture)."""
    return str(dataset.get("SOPClassUID", "")) in CAPTURE_CLASSES


def _read(file: Path, not_yet: str | None) -> Dataset:
    """The data set; elements of the size ``not_yet`` and more are read when they are asked for."""
    damaged = problem(file, "file", "damaged or cut short", "send it again from the source")
    try:
        dataset = pydicom.dcmread(file, defer_size=not_yet)
    except InvalidDicomError as error:
        bare = _read_without_preamble(file)
        if bare is None:
            raise problem(file, "file", "not a DICOM file", "give a stored XA run") from error
        return _without_unreadable(bare)
    except OSError as error:
        found = error.strerror or "cannot be read"
        raise problem(file, "file", found.lower(), "give a file that can be read") from error
    except Exception as error:
        # pydicom raises many kinds on damaged files; all mean the same to the person.
        raise damaged from error
    if len(dataset) == 0:
        # A file that ends within its pixels reads as one that holds nothing.
        raise damaged
    return _without_unreadable(dataset)


def _without_unreadable(dataset: Dataset) -> Dataset:
    """The data set less the elements that cannot be read: they count as absent."""
    for tag in list(dataset.keys()):
        if tag == PIXEL_DATA:
            continue
        try:
            element = dataset[tag]
        except Exception:
            # pydicom decodes an element when it is asked for, and raises many kinds.
            del dataset[tag]
            continue
        if element.VR == "SQ":
            for item in element.value:
                _without_unreadable(item)
    return dataset


def _read_without_preamble(file: Path) -> Dataset | None:
    """A data set stored without the file format's own head (PS3.10 7.1); None if it is none."""
    try:
        dataset = pydicom.dcmread(file, force=True)
        names_itself = "SOPClassUID" in dataset or "Modality" in dataset
    except Exception:
        # Any text or picture file ends here, each with an error of its own.
        return None
    if not names_itself:
        return None
    if "TransferSyntaxUID" not in dataset.file_meta:
        implicit, little = dataset.original_encoding
        explicit = ExplicitVRLittleEndian if little else ExplicitVRBigEndian
        dataset.file_meta.TransferSyntaxUID = ImplicitVRLittleEndian if implicit else explicit
    return dataset


def _require_x_ray(dataset: Dataset, file: Path) -> None:
    sop_class, modality = str(dataset.get("SOPClassUID", "")), str(dataset.get("Modality", ""))
    if sop_class == BIPLANE_CLASS:
        raise _both_planes(file)
    if not _may_be_x_ray(sop_class, modality):
        found = f"not an X-ray angiographic image but {_what_it_is(sop_class, modality)}"
        raise problem(file, "SOPClassUID", found, GIVE_RUN)
    if not dataset.get("PixelData"):
        raise problem(
            file, "PixelData", "the file holds no pixel data", "export the run with its images"
        )
    _require_whole_numbers(dataset, file)
    photometric = str(dataset.PhotometricInterpretation)
    if not photometric.startswith("MONOCHROME") or dataset.get("SamplesPerPixel", 1) not in (1, ""):
        raise problem(
            file,
            "PhotometricInterpretation",
            f"{photometric} is a colour picture",
            "give the grey-scale run, not a screen capture",
        )


def _require_whole_numbers(dataset: Dataset, file: Path) -> None:
    """Refuse a header whose sizes are missing or no numbers, whatever it calls them."""
    mend = "send the run again from the source"
    for name in ("Rows", "Columns", "BitsAllocated", "PhotometricInterpretation"):
        if dataset.get(name) in (None, ""):
            raise problem(file, name, "missing", mend)
    for name in ("Rows", "Columns", "BitsAllocated", "BitsStored", "PixelRepresentation"):
        value = dataset.get(name)
        if value not in (None, "") and not (isinstance(value, int) and value >= 0):
            raise problem(file, name, "no whole number", mend)


def _may_be_x_ray(sop_class: str, modality: str) -> bool:
    """The class decides where it is a known one; the modality where it is not, or a capture's."""
    if sop_class in X_RAY_CLASSES:
        return True
    known = UID(sop_class).name != sop_class if sop_class else False
    return modality in X_RAY_MODALITIES and (not known or sop_class in CAPTURE_CLASSES)


def _what_it_is(sop_class: str, modality: str) -> str:
    """The kind of object in words: the standard's name of its class, else its modality."""
    name = UID(sop_class).name if sop_class else ""
    if name and name != sop_class:
        kind = name.removesuffix(" (Retired)").removesuffix(" Storage")
        return f"of the kind '{kind}'"
    if modality in MODALITY_WORDS:
        return MODALITY_WORDS[modality]
    return f"an object of modality {modality[:16]}" if modality else "an object of no stated kind"


def plane_of(dataset: Dataset) -> str | None:
    """Which plane of a biplane system took the run, ``A`` or ``B``; None where nobody says.

    References
    ----------
    Image Type value 3 BIPLANE A, BIPLANE B: PS3.3 C.8.7.1.1.1; per frame in the Frame Type of an
    enhanced object, PS3.3 C.8.19.3.1, whose Plane Identification (0018,9457) is PLANE A or
    PLANE B: PS3.3 C.8.19.2.
    """
    return next(iter(sorted(_planes(dataset))), None)


def _require_one_plane(dataset: Dataset, file: Path) -> None:
    """Refuse both planes of a biplane run in one file."""
    if len(_planes(dataset)) > 1:
        raise _both_planes(file)


def _planes(dataset: Dataset) -> set[str]:
    found = [*words(dataset.get("ImageType")), *words(stated(dataset, "PlaneIdentification"))]
    for group in items_of(dataset, PER_FRAME):
        for properties in items_of(group, "FramePixelDataPropertiesSequence"):
            found.extend(words(properties.get("FrameType")))
    return {PLANE_WORDS[word] for word in found if word in PLANE_WORDS}


def _both_planes(file: Path) -> FileProblem:
    return problem(
        file,
        "ImageType",
        "both planes of a biplane run in one file",
        "export each plane as a file of its own",
    )


def stated_frames(dataset: Dataset) -> int:
    """Number of Frames (0028,0008); one where it is absent."""
    return int(positive(dataset.get("NumberOfFrames")) or 1)
