"""What a header says that whoever reads the measurement has to know."""

from pathlib import Path

from pydicom.dataset import Dataset

from coilwright.veins import Notice
from coilwright.venogram.dicom_file import is_capture, plane_of, problem
from coilwright.venogram.functional_groups import (
    items_of,
    number,
    numbers,
    stated,
    stated_per_frame,
    words,
)

# PS3.5 10 and A.4: JPEG baseline and extended, JPEG-LS near-lossless always lose something.
LOSSY_SYNTAXES = {
    "1.2.840.10008.1.2.4.50",
    "1.2.840.10008.1.2.4.51",
    "1.2.840.10008.1.2.4.81",
}
# Where a header says that there was loss but not how much; own estimate, no source.
USUAL_LOSSY_RATIO = 15.0
# DCM "Pixel by pixel subtraction", PS3.16 Annex D.
SUBTRACTION_CODE = "113062"
# A turn below this is the encoder's own jitter; common practice, no source.
LARGEST_JITTER_DEG = 1.0

FLUOROSCOPY = Notice(
    code="stored-fluoroscopy",
    text="stored fluoroscopy (low dose): noisier than an acquired run and often averaged over "
    "frames; standard deviations are widened by our own estimate, without a source",
)
CAPTURE = Notice(
    code="screen-capture",
    text="a screen capture, not the stored run: its pixels may be scaled, windowed or drawn over",
)
TABLE_MOVES = Notice(
    code="table-moves",
    text="the table moves during this run: frames are put together by the image alone",
)


def header_notices(dataset: Dataset) -> tuple[Notice, ...]:
    """Notices that rest on the header alone.

    References
    ----------
    Radiation Setting SC, low dose exposure as of fluoroscopy: PS3.3 C.8.7.2.1. Table Motion:
    PS3.3 C.8.7.4. Lossy Image Compression: PS3.3 C.7.6.1.1.5.
    """
    found = [
        _lossy(dataset),
        CAPTURE if is_capture(dataset) else None,
        FLUOROSCOPY if says_fluoroscopy(dataset) else None,
        _one_plane(dataset),
        TABLE_MOVES if "DYNAMIC" in words(stated(dataset, "TableMotion")) else None,
    ]
    return tuple(notice for notice in found if notice is not None)


def says_fluoroscopy(dataset: Dataset) -> bool:
    """Whether the run is stored fluoroscopy, of low dose."""
    return "SC" in words(stated(dataset, "RadiationSetting"))


def says_subtracted(dataset: Dataset) -> bool:
    """Whether the header says that the pixels are a subtraction already.

    A Mask Subtraction Sequence says only how a viewer should subtract (PS3.3 C.7.6.10): what was
    done to the pixels stands in their derivation (PS3.3 C.7.6.1.1.3) and type.
    """
    codes = items_of(dataset, "DerivationCodeSequence")
    if any(str(code.get("CodeValue", "")) == SUBTRACTION_CODE for code in codes):
        return True
    if any("SUBTRACT" in word for word in words(dataset.get("ImageType"))):
        return True
    return "SUBTRACT" in str(stated(dataset, "DerivationDescription") or "").upper()


def require_fixed_view(dataset: Dataset, file: Path) -> None:
    """Refuse a run during which the C-arm turns: it is no one projection.

    References
    ----------
    Positioner Motion and the angle increments: PS3.3 C.8.7.5; Positioner Position Sequence of an
    enhanced object: PS3.3 C.8.19.6.12.
    """
    turned = max(_spread(dataset, name) for name in ("Primary", "Secondary"))
    if turned > LARGEST_JITTER_DEG:
        raise problem(
            file,
            "PositionerMotion",
            f"the C-arm turns by {turned:.0f} degrees during the run",
            "give a run taken from one direction",
        )


def _spread(dataset: Dataset, name: str) -> float:
    """Degrees between the extreme positions of one angle through the run."""
    per_frame = stated_per_frame(dataset, f"Positioner{name}Angle")
    angles = [number(value) for value in per_frame]
    if not any(angle is not None for angle in angles):
        if "DYNAMIC" not in words(dataset.get("PositionerMotion")):
            return 0.0
        angles = numbers(dataset.get(f"Positioner{name}AngleIncrement"))
    known = [angle for angle in angles if angle is not None]
    return max(known) - min(known) if known else 0.0


def lossy_ratio(dataset: Dataset) -> float | None:
    """How much the pixels were compressed with loss; None where they were not.

    ``USUAL_LOSSY_RATIO`` where the header says that they were, but not how much.
    """
    syntax = str(getattr(dataset.file_meta, "TransferSyntaxUID", ""))
    stated_lossy = str(dataset.get("LossyImageCompression", "")) == "01"
    if not stated_lossy and syntax not in LOSSY_SYNTAXES:
        return None
    ratios = [r for r in numbers(dataset.get("LossyImageCompressionRatio")) if r and r > 1]
    # Every step of compression adds a value; the last ones lose least of what the first left.
    return max(ratios) if ratios else USUAL_LOSSY_RATIO


def _one_plane(dataset: Dataset) -> Notice | None:
    plane = plane_of(dataset)
    if plane is None:
        return None
    text = (
        f"plane {plane} of a biplane run, measured alone: nothing was taken from the other plane, "
        "and depth is as uncertain as in a single one"
    )
    return Notice(code="one-plane-of-two", text=text)


def _lossy(dataset: Dataset) -> Notice | None:
    ratio = lossy_ratio(dataset)
    if ratio is None:
        return None
    by = f" {ratio:.0f} to 1" if dataset.get("LossyImageCompressionRatio") else ""
    text = (
        f"the picture was compressed{by} with loss: noise and fine edges are altered; standard "
        "deviations are widened by our own estimate, without a source"
    )
    return Notice(code="lossy-compression", text=text)
