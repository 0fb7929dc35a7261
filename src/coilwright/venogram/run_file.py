"""A run read from a DICOM file: its pixels as stored, and what its header says of them."""

import warnings
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pydicom
from pydicom.dataset import Dataset
from pydicom.errors import InvalidDicomError

from coilwright.errors import FileProblem, Problem
from coilwright.venogram.header_geometry import HeaderGeometry, header_geometry

FloatStack = npt.NDArray[np.float32]

# PS3.4 Annex B.5: the storage classes whose pixels are an X-ray projection.
X_RAY_CLASSES = {
    "1.2.840.10008.5.1.4.1.1.12.1": "X-Ray Angiographic Image Storage",
    "1.2.840.10008.5.1.4.1.1.12.1.1": "Enhanced XA Image Storage",
    "1.2.840.10008.5.1.4.1.1.12.2": "X-Ray Radiofluoroscopic Image Storage",
    "1.2.840.10008.5.1.4.1.1.12.2.1": "Enhanced XRF Image Storage",
}
X_RAY_MODALITIES = {"XA", "RF"}


class PixelRelationship(StrEnum):
    """Pixel Intensity Relationship (0028,1040), PS3.3 C.8.7.1.1.2."""

    LIN = "LIN"
    LOG = "LOG"
    DISP = "DISP"
    UNSTATED = "unstated"


@dataclass(frozen=True, slots=True, kw_only=True)
class RunFile:
    """One acquisition as stored.

    ``stored`` is (frames, rows, columns). ``higher_is_less_beam`` follows Pixel Intensity
    Relationship Sign (0028,1041) and is null where the header does not say.
    """

    file: Path
    sop_instance_uid: str
    stored: FloatStack
    stored_maximum: float
    relationship: PixelRelationship
    higher_is_less_beam: bool | None
    shown_inverted: bool
    frame_times_s: tuple[float, ...] | None
    geometry: HeaderGeometry


def read_run(file: Path) -> RunFile:
    """Read one X-ray run.

    Raises
    ------
    FileProblem
        Not DICOM, not an X-ray image, no pixel data, pixels that cannot be decoded.
    """
    with warnings.catch_warnings():
        # pydicom warns of odd values in fields that are not used here.
        warnings.simplefilter("ignore")
        dataset = _read_dataset(file)
        _require_x_ray(dataset, file)
        stored = _read_pixels(dataset, file)
        sign = dataset.get("PixelIntensityRelationshipSign")
        return RunFile(
            file=file,
            sop_instance_uid=str(dataset.get("SOPInstanceUID", "")),
            stored=stored,
            stored_maximum=float(2 ** int(dataset.get("BitsStored", 16)) - 1),
            relationship=_relationship(dataset),
            higher_is_less_beam=None if sign is None else int(sign) < 0,
            shown_inverted=str(dataset.PhotometricInterpretation) == "MONOCHROME1",
            frame_times_s=frame_times_s(dataset, len(stored)),
            geometry=header_geometry(dataset),
        )


def _problem(file: Path, field: str, found: str, mend: str) -> FileProblem:
    return FileProblem(file, Problem(field=field, found=found, mend=mend))


def _read_dataset(file: Path) -> Dataset:
    try:
        return pydicom.dcmread(file)
    except InvalidDicomError as error:
        raise _problem(file, "file", "not a DICOM file", "give a stored XA run") from error
    except OSError as error:
        found = error.strerror or "cannot be read"
        raise _problem(file, "file", found.lower(), "give a file that can be read") from error
    except Exception as error:
        # pydicom raises many kinds on damaged files; all mean the same to the person.
        raise _problem(
            file, "file", "damaged or cut short", "send it again from the source"
        ) from error


def _require_x_ray(dataset: Dataset, file: Path) -> None:
    sop_class = str(dataset.get("SOPClassUID", ""))
    modality = str(dataset.get("Modality", ""))
    if sop_class not in X_RAY_CLASSES and modality not in X_RAY_MODALITIES:
        what = f"modality {modality}" if modality else "no modality"
        raise _problem(
            file, "SOPClassUID", f"not an X-ray angiographic image ({what})", "give an XA or RF run"
        )
    if "PixelData" not in dataset:
        raise _problem(
            file, "PixelData", "the file holds no pixel data", "export the run with its images"
        )
    for name in ("Rows", "Columns", "BitsAllocated", "PhotometricInterpretation"):
        if name not in dataset:
            raise _problem(file, name, "missing", "send the run again from the source")
    photometric = str(dataset.PhotometricInterpretation)
    if not photometric.startswith("MONOCHROME"):
        raise _problem(
            file,
            "PhotometricInterpretation",
            f"{photometric} is a colour picture",
            "give the grey-scale run, not a screen capture",
        )


def _read_pixels(dataset: Dataset, file: Path) -> FloatStack:
    try:
        pixels = dataset.pixel_array
    except Exception as error:
        # Decoders raise many kinds; the person needs the syntax and the mend.
        syntax = getattr(getattr(dataset, "file_meta", None), "TransferSyntaxUID", None)
        name = getattr(syntax, "name", None) or "no transfer syntax"
        raise _problem(
            file,
            "PixelData",
            f"pixels cannot be decoded or are cut short ({name})",
            "send it again, uncompressed (Explicit VR Little Endian) if it fails twice",
        ) from error
    stack = np.asarray(pixels, dtype=np.float32)
    return stack[np.newaxis] if stack.ndim == 2 else stack


def _relationship(dataset: Dataset) -> PixelRelationship:
    stated = str(dataset.get("PixelIntensityRelationship", "") or "").strip().upper()
    try:
        return PixelRelationship(stated)
    except ValueError:
        return PixelRelationship.UNSTATED


def frame_times_s(dataset: Dataset, frames: int) -> tuple[float, ...] | None:
    """Time of each frame from the first, in seconds; None where the header does not say.

    References
    ----------
    PS3.3 C.7.6.5 (Frame Time, Frame Time Vector; both in milliseconds), and Cine Rate,
    Recommended Display Frame Rate in frames per second.
    """
    vector = dataset.get("FrameTimeVector")
    if vector is not None and not isinstance(vector, str | int | float):
        steps = [float(step) for step in vector]
        if len(steps) == frames:
            return tuple(float(t) for t in np.cumsum([0.0, *steps[1:]]) / 1000.0)
    step_ms = _positive(dataset.get("FrameTime"))
    if step_ms is None:
        rate = _positive(dataset.get("CineRate")) or _positive(
            dataset.get("RecommendedDisplayFrameRate")
        )
        step_ms = None if rate is None else 1000.0 / rate
    if step_ms is None:
        return (0.0,) if frames == 1 else None
    return tuple(frame * step_ms / 1000.0 for frame in range(frames))


def _positive(value: object) -> float | None:
    try:
        number = float(str(value))
    except ValueError:
        return None
    return number if number > 0 else None
