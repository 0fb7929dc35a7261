"""Which way a run's contrast is had alone: by a mask before it, one after it, or as stored."""

from dataclasses import replace

import cv2
import numpy as np
import numpy.typing as npt

from coilwright.veins import Notice
from coilwright.venogram.header_mask import HeaderMask
from coilwright.venogram.subtracted_already import as_stored
from coilwright.venogram.subtraction import SubtractedRun, subtract
from coilwright.venogram.washed_out import subtract_from_end

Float = npt.NDArray[np.float32]

# Contrast changes one side alone; motion and noise change both.
ONE_SIDED = 2.0
SMALL = 256


def contrast_alone(
    absorbed: Float,
    mask_frames: tuple[int, ...] | None,
    *,
    already_subtracted: bool,
    named: HeaderMask | None = None,
) -> SubtractedRun:
    """Contrast of a run; the operator's mask frames come first where they are given.

    It takes the place of ``absorbed``.

    ``named`` is the header's word: it decides where the run itself shows no mask, and is told
    where it is not followed.
    """
    if mask_frames is not None:
        return subtract(absorbed, mask_frames)
    if already_subtracted:
        return as_stored(absorbed)
    if named is None:
        return _by_the_run(absorbed)
    if named.unusable is not None:
        found = _by_the_run(absorbed)
        return found if found.nothing_arrives else _told(found, named.unusable)
    # Before the contrast takes the frames' place.
    changes = _changes_from(absorbed, named.frames)
    found = _by_the_run(absorbed)
    if found.nothing_arrives or set(named.frames) <= set(found.mask_frames):
        return found
    return _heeded(absorbed, found, named, changes)


def _by_the_run(absorbed: Float) -> SubtractedRun:
    return subtract_from_end(absorbed) or subtract(absorbed, None)


def _heeded(
    absorbed: Float, found: SubtractedRun, named: HeaderMask, changes: tuple[bool, bool]
) -> SubtractedRun:
    """The run by the header's mask, or as found with the reason why not."""
    lost, gained = changes
    if lost:
        return _told(found, f"contrast is there in {_counted(named.frames)}")
    if found.mask_frames or not gained:
        return _told(found, f"it names {_counted(named.frames)}")
    return _followed(absorbed, named.frames)


def _changes_from(absorbed: Float, frames: tuple[int, ...]) -> tuple[bool, bool]:
    """Whether any frame shows less contrast than the named ones, and whether any shows more."""
    small = np.stack(
        [
            cv2.GaussianBlur(
                cv2.resize(frame, (SMALL, SMALL), interpolation=cv2.INTER_AREA), (0, 0), 1.5
            )
            for frame in absorbed
        ]
    )
    change = small - small[list(frames)].mean(0)
    low, middle, high = np.percentile(change, (0.2, 50, 99.8), axis=(1, 2))
    more, less = high - middle, middle - low
    # A change of a tenth of the greatest is noise, or what a shift of the pose leaves.
    floor = 0.1 * float(max(more.max(), less.max()))
    lost = (less > ONE_SIDED * more) & (less > floor)
    gained = (more > ONE_SIDED * less) & (more > floor)
    return bool(lost.any()), bool(gained.any())


def _followed(absorbed: Float, frames: tuple[int, ...]) -> SubtractedRun:
    text = (
        f"the header's mask, {_counted(frames)} counted from 1, was followed, the run itself "
        "showing none; what contrast was in it already is lost"
    )
    subtracted = subtract(absorbed, frames)
    notice = Notice(code="mask-by-header", text=text)
    return replace(subtracted, notices=(*subtracted.notices, notice))


def _told(found: SubtractedRun, why: str) -> SubtractedRun:
    instead = "no mask was used"
    if found.mask_frames:
        instead = f"{_counted(found.mask_frames)} served as the mask"
    text = f"the header's mask was not followed: {why}; {instead} (frames counted from 1)"
    notice = Notice(code="mask-of-header-not-used", text=text)
    return replace(found, notices=(*found.notices, notice))


def _counted(frames: tuple[int, ...]) -> str:
    """Frames as the header counts them, from 1."""
    first, last = frames[0] + 1, frames[-1] + 1
    if len(frames) == 1:
        return f"frame {first}"
    if frames == tuple(range(frames[0], frames[-1] + 1)):
        return f"frames {first} to {last}"
    return f"frames {', '.join(str(frame + 1) for frame in frames)}"
