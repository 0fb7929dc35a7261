"""The frames of a file as numbers: decoded, and through the modality transform."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import cast

import numpy as np
import numpy.typing as npt
from pydicom.dataset import Dataset
from pydicom.pixels.utils import pixel_array
from pydicom.uid import UID

from coilwright.errors import FileProblem
from coilwright.venogram.decoder_notes import caught_notes, tell_of_damage
from coilwright.venogram.dicom_file import problem, stated_frames
from coilwright.venogram.functional_groups import SHARED, items_of, positive, stated

FloatStack = npt.NDArray[np.float32]
Numbers = npt.NDArray[np.uint8] | npt.NDArray[np.uint16]
Table = npt.NDArray[np.float32]

# A gonadal vein of 3 mm in a field of 400 mm is two pixels wide at this size.
FEWEST_PIXELS = 128
# Flat detectors have up to 3000 rows and columns; runs are stored with at most 2048.
MOST_PIXELS = 4096
# 192 frames of 1024 x 1024: beyond it the measurement takes minutes and gigabytes.
MOST_STORED_VALUES = 192 * 1024 * 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredFrames:
    """Frames as stored, and the value of each stored number after the modality transform.

    ``numbers`` is (frames, rows, columns), and ``table`` has a value for each; a run has tens of
    millions of pixels, so they stay as small as they are, and are looked up where they are needed.
    ``lowest`` and ``highest`` are the ends of the range that the values can take.
    ``to_linear`` where the transform was a table, for LOG pixels one to beam intensity;
    ``turned_over`` where it makes high values of low ones.
    """

    numbers: Numbers
    table: Table
    lowest: float
    highest: float
    to_linear: bool = False
    turned_over: bool = False

    def __len__(self) -> int:
        return len(self.numbers)

    @property
    def shape(self) -> tuple[int, int, int]:
        """Frames, rows, columns."""
        frames, rows, columns = self.numbers.shape
        return frames, rows, columns

    def values(self, frames: Sequence[int] | None = None) -> FloatStack:
        """Values after the modality transform, of all frames or of some."""
        return self.through(self.table, frames)

    def through(self, table: Table, frames: Sequence[int] | None = None) -> FloatStack:
        """What another table of the same numbers makes of the frames."""
        chosen = range(len(self)) if frames is None else frames
        found = np.empty((len(chosen), *self.shape[1:]), np.float32)
        # Frame by frame: indices of all at once would take four times the memory of the run.
        for frame, looked_up in zip(chosen, found, strict=True):
            np.take(table, self.numbers[frame], out=looked_up, mode="clip")
        return found

    def present(self) -> npt.NDArray[np.bool_]:
        """Which of the table's numbers some pixel has."""
        seen = np.zeros(len(self.table), np.bool_)
        for frame in self.numbers:
            seen[frame.ravel()] = True
        return seen

    def is_one_value(self) -> bool:
        """Whether every pixel has the same value."""
        return not np.ptp(self.table[self.numbers.min() : int(self.numbers.max()) + 1])


def stored_frames(dataset: Dataset, file: Path) -> StoredFrames:
    """Decode the frames of a run.

    Modality transforms are applied, display windows (VOI) and presentation are not.

    Raises
    ------
    FileProblem
        Absurd sizes, a transfer syntax without decoder, pixels cut short, frames that are more or
        fewer than stated, an unusable table.

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
            return _through_table(pixels, dataset, table[0], (low, high))
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
    _require_frames_that_fit(dataset, file)
    try:
        with caught_notes() as notes:
            # As a view where that is possible: they are read, never changed. What unused bits may
            # hold is left to the table of what each number means.
            plain = _uncompressed(dataset)
            pixels = np.asarray(
                pixel_array(dataset, view_only=plain, correct_unused_bits=not plain)
            )
    except Exception as error:
        # Decoders raise many kinds; the person needs the syntax and the mend.
        raise _undecodable(dataset, file) from error
    if tell_of_damage(notes):
        raise _undecodable(dataset, file)
    _require_all_frames(dataset, pixels, file)
    return pixels[np.newaxis] if pixels.ndim == 2 else pixels


def _require_frames_that_fit(dataset: Dataset, file: Path) -> None:
    """Refuse a count of frames that is none, or not that of the pixels as they are stored.

    References
    ----------
    Number of Frames (0028,0008): PS3.3 C.7.6.6.1.1. Pixels of one bit depth without compression
    take rows x columns x bits: PS3.5 8.2.
    """
    told = dataset.get("NumberOfFrames")
    if told not in (None, "") and not (positive(told) or 0.5).is_integer():
        mend = "send the run again from the source"
        raise problem(file, "NumberOfFrames", "no whole number above zero", mend)
    if not _uncompressed(dataset):
        return
    frame = int(dataset.Rows) * int(dataset.Columns) * int(dataset.BitsAllocated) // 8
    held, stated_count = len(dataset.PixelData) / frame, stated_frames(dataset)
    # Less than a frame too much fills up, and a byte may be missing where bits do not fill bytes.
    if int(held + 1 / frame) == stated_count:
        return
    mend = "send the run again from the source"
    if held < stated_count:
        found = f"cut short, or NumberOfFrames is wrong: {held:.2f} of {stated_count} frames"
        raise problem(file, "PixelData", found, mend)
    found = f"{stated_count} by the header, but the pixels hold {held:.4g}"
    raise problem(file, "NumberOfFrames", found, mend)


def _uncompressed(dataset: Dataset) -> bool:
    syntax = UID(str(dataset.file_meta.get("TransferSyntaxUID", "")))
    return syntax.is_transfer_syntax and not (syntax.is_private or syntax.is_compressed)


def _require_all_frames(dataset: Dataset, pixels: npt.NDArray[np.integer], file: Path) -> None:
    shown = len(pixels) if pixels.ndim == 3 else 1
    if shown != stated_frames(dataset):
        found = f"{stated_frames(dataset)} by the header, but the pixels hold {shown}"
        raise problem(file, "NumberOfFrames", found, "send the run again from the source")


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
    for group in items_of(dataset, SHARED):
        for table in items_of(group, "PixelIntensityRelationshipLUTSequence"):
            if str(table.get("LUTFunction", "")) == "TO_LINEAR":
                return [table]
    return None


def _byte_order(dataset: Dataset) -> str:
    return "<" if dataset.original_encoding[1] in (True, None) else ">"


def _every_number(
    pixels: npt.NDArray[np.integer], dataset: Dataset
) -> tuple[Numbers, npt.NDArray[np.intp]]:
    """The pixels as unsigned numbers, and what each such number means.

    Of uncompressed pixels only the stored bits count, whatever the unused ones hold.
    """
    pixels = pixels.astype(pixels.dtype.newbyteorder("="), copy=False)
    unsigned = cast(Numbers, pixels.view(np.dtype(f"u{pixels.dtype.itemsize}")))
    allocated = 8 * pixels.dtype.itemsize
    stored = int(dataset.get("BitsStored") or allocated)
    bits = stored if _uncompressed(dataset) else allocated
    means = np.arange(2**allocated, dtype=np.intp) & (2**bits - 1)
    if np.issubdtype(pixels.dtype, np.signedinteger):
        means = np.where(means < 2 ** (bits - 1), means, means - 2**bits)
    return unsigned, means


def _through_table(
    pixels: npt.NDArray[np.integer], dataset: Dataset, item: Dataset, ends: tuple[float, float]
) -> StoredFrames:
    """Values looked up; those outside the table take its first or last entry, PS3.3 C.11.1.1."""
    entries, first, _ = (int(value) for value in item.LUTDescriptor)
    entries = entries or 2**16
    words = item.LUTData
    if isinstance(words, bytes):
        words = np.frombuffer(words, dtype=f"{_byte_order(dataset)}u2")
    stored = np.asarray(words, dtype=np.float32)[:entries]
    if len(stored) != entries:
        raise ValueError("fewer entries than the descriptor says")
    numbers, means = _every_number(pixels, dataset)
    reached = stored[np.clip(np.clip(means, *ends).astype(np.intp) - first, 0, entries - 1)]
    return StoredFrames(
        numbers=numbers,
        table=reached,
        lowest=float(reached.min()),
        highest=float(reached.max()),
        to_linear=True,
    )


def _rescaled(
    pixels: npt.NDArray[np.integer], dataset: Dataset, low: float, high: float
) -> StoredFrames:
    """Slope times value plus intercept, PS3.3 C.11.1.1.2; as stored where none is given."""
    numbers, means = _every_number(pixels, dataset)
    values = means.astype(np.float32)
    slope_words, intercept_words = (
        stated(dataset, "RescaleSlope"),
        stated(dataset, "RescaleIntercept"),
    )
    if slope_words is None or intercept_words is None:
        return StoredFrames(numbers=numbers, table=values, lowest=low, highest=high)
    slope, intercept = float(str(slope_words)), float(str(intercept_words))
    if not (np.isfinite([slope, intercept]).all() and slope != 0):
        raise ValueError("a slope that is zero or no number")
    values *= np.float32(slope)
    values += np.float32(intercept)
    lowest, highest = sorted(slope * end + intercept for end in (low, high))
    return StoredFrames(
        numbers=numbers, table=values, lowest=lowest, highest=highest, turned_over=slope < 0
    )
