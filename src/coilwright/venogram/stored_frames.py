"""The frames of a file as numbers: decoded, and through the modality transform."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
from pydicom.dataset import Dataset
from pydicom.uid import UID

from coilwright.errors import FileProblem
from coilwright.venogram.decoder_notes import caught_notes, tell_of_damage
from coilwright.venogram.dicom_file import problem, stated_frames
from coilwright.venogram.functional_groups import SHARED, stated

FloatStack = npt.NDArray[np.float32]

# A gonadal vein of 3 mm in a field of 400 mm is two pixels wide at this size.
FEWEST_PIXELS = 128
# Flat detectors have up to 3000 rows and columns; runs are stored with at most 2048.
MOST_PIXELS = 4096
# 192 frames of 1024 x 1024: beyond it the measurement takes minutes and gigabytes.
MOST_STORED_VALUES = 192 * 1024 * 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredFrames:
    """``values`` is (frames, rows, columns), after the modality transform.

    ``lowest`` and ``highest`` are the ends of the range that the values can take.
    ``to_linear`` where the transform was a table, for LOG pixels one to beam intensity;
    ``turned_over`` where it makes high values of low ones.
    """

    values: FloatStack
    lowest: float
    highest: float
    to_linear: bool = False
    turned_over: bool = False


def stored_frames(dataset: Dataset, file: Path) -> StoredFrames:
    """Decode the frames of a run.

    Modality transforms are applied, display windows (VOI) and presentation are not.

    Raises
    ------
    FileProblem
        Absurd sizes, a transfer syntax without decoder, pixels cut short, an unusable table.

    References
    ----------
    Modality LUT Module: PS3.3 C.11.1. Pixel Intensity Relationship LUT of enhanced objects:
    PS3.3 C.7.6.16.2.13. Unused high bits: PS3.5 8.1.1.
    """
    _require_sane_size(dataset, file)
    pixels = _decoded(dataset, file)
    low, high = _representable(dataset)
    table = dataset.get("ModalityLUTSequence") or _enhanced_table(dataset)
    try:
        if table:
            return _through_table(pixels, table[0], int(low), int(high), _byte_order(dataset))
        return _rescaled(pixels, dataset, low, high)
    except (ValueError, TypeError, AttributeError, IndexError) as error:
        # A descriptor that does not fit its data, or numbers that are none.
        raise problem(
            file,
            "ModalityLUTSequence" if table else "RescaleSlope",
            "the modality transform cannot be applied",
            "send the run again from the source",
        ) from error


def _require_sane_size(dataset: Dataset, file: Path) -> None:
    rows, columns, frames = int(dataset.Rows), int(dataset.Columns), stated_frames(dataset)
    size = f"{rows} x {columns} pixels"
    bits, deepest = int(dataset.BitsAllocated), int(dataset.get("BitsStored") or 0)
    if bits not in {8, 16} or deepest > bits:
        found = f"{bits} bits allocated and {deepest} stored are not those of an X-ray run"
        raise problem(file, "BitsAllocated", found, "give a run of 8 to 16 bits")
    if min(rows, columns) < FEWEST_PIXELS:
        mend = f"give a run of at least {FEWEST_PIXELS} x {FEWEST_PIXELS} pixels"
        raise problem(file, "Rows", f"{size} are too few to show a vein", mend)
    if max(rows, columns) > MOST_PIXELS:
        mend = f"give a run of at most {MOST_PIXELS} x {MOST_PIXELS} pixels"
        raise problem(file, "Rows", f"{size} are too many", mend)
    if rows * columns * frames > MOST_STORED_VALUES:
        most = MOST_STORED_VALUES // (rows * columns)
        raise problem(
            file,
            "NumberOfFrames",
            f"{frames} frames of {size} are too many to measure at once",
            f"export the part in which contrast arrives, at most {most} frames",
        )


def _decoded(dataset: Dataset, file: Path) -> npt.NDArray[np.integer]:
    try:
        with caught_notes() as notes:
            pixels = np.asarray(dataset.pixel_array)
    except Exception as error:
        # Decoders raise many kinds; the person needs the syntax and the mend.
        raise _undecodable(dataset, file) from error
    if tell_of_damage(notes):
        raise _undecodable(dataset, file)
    return pixels[np.newaxis] if pixels.ndim == 2 else pixels


def _undecodable(dataset: Dataset, file: Path) -> FileProblem:
    syntax = getattr(getattr(dataset, "file_meta", None), "TransferSyntaxUID", None)
    name = UID(str(syntax)).name if syntax else "no transfer syntax"
    mend = "send it again, uncompressed (Explicit VR Little Endian) if it fails twice"
    found = f"pixels cannot be decoded or are cut short ({name})"
    return problem(file, "PixelData", found, mend)


def _representable(dataset: Dataset) -> tuple[float, float]:
    """The least and greatest stored value. Pixel Representation: PS3.3 C.7.6.3.1."""
    bits = int(dataset.get("BitsStored") or dataset.BitsAllocated)
    if int(dataset.get("PixelRepresentation") or 0) == 1:
        return float(-(2 ** (bits - 1))), float(2 ** (bits - 1) - 1)
    return 0.0, float(2**bits - 1)


def _enhanced_table(dataset: Dataset) -> list[Dataset] | None:
    """The table TO_LINEAR of an enhanced object's shared groups."""
    for group in dataset.get(SHARED) or ():
        for table in group.get("PixelIntensityRelationshipLUTSequence") or ():
            if str(table.get("LUTFunction", "")) == "TO_LINEAR":
                return [table]
    return None


def _byte_order(dataset: Dataset) -> str:
    return "<" if dataset.original_encoding[1] in (True, None) else ">"


def _through_table(
    pixels: npt.NDArray[np.integer], item: Dataset, low: int, high: int, order: str
) -> StoredFrames:
    """Values looked up; those outside the table take its first or last entry, PS3.3 C.11.1.1."""
    entries, first, _ = (int(value) for value in item.LUTDescriptor)
    entries = entries or 2**16
    words = item.LUTData
    if isinstance(words, bytes):
        words = np.frombuffer(words, dtype=f"{order}u2")
    stored = np.asarray(words, dtype=np.float32)[:entries]
    if len(stored) != entries:
        raise ValueError("fewer entries than the descriptor says")
    table = stored[np.clip(np.arange(low, high + 1) - first, 0, entries - 1)]
    values = table[pixels.astype(np.int32) - low]
    return StoredFrames(
        values=values, lowest=float(table.min()), highest=float(table.max()), to_linear=True
    )


def _rescaled(
    pixels: npt.NDArray[np.integer], dataset: Dataset, low: float, high: float
) -> StoredFrames:
    """Slope times value plus intercept, PS3.3 C.11.1.1.2; as stored where none is given."""
    values = pixels.astype(np.float32)
    slope_words, intercept_words = (
        stated(dataset, "RescaleSlope"),
        stated(dataset, "RescaleIntercept"),
    )
    if slope_words is None or intercept_words is None:
        return StoredFrames(values=values, lowest=low, highest=high)
    slope, intercept = float(str(slope_words)), float(str(intercept_words))
    if not (np.isfinite([slope, intercept]).all() and slope != 0):
        raise ValueError("a slope that is zero or no number")
    values *= np.float32(slope)
    values += np.float32(intercept)
    lowest, highest = sorted(slope * end + intercept for end in (low, high))
    return StoredFrames(values=values, lowest=lowest, highest=highest, turned_over=slope < 0)
