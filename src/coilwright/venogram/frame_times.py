"""When each frame was taken, as far as the header says."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from pydicom.dataset import Dataset
from pydicom.valuerep import DT

from coilwright.veins import Notice
from coilwright.venogram.functional_groups import numbers, positive, stated_per_frame

Times = tuple[float, ...]

NO_FRAME_TIMES = Notice(
    code="no-frame-times",
    text="the header does not say when the frames were taken: no arrival times, no front speed",
)
ODD_FRAME_TIMES = Notice(
    code="odd-frame-times",
    text="the header's Frame Time Vector does not fit the frames and was not used",
)
TIMES_BY_DISPLAY_RATE = Notice(
    code="frame-times-by-rate",
    text="frame times follow the header's cine or display rate alone: arrival times are no surer",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameTimes:
    """Times from the first frame in seconds, null where the header does not say."""

    times_s: Times | None
    notices: tuple[Notice, ...] = ()


def frame_times(dataset: Dataset, frames: int) -> FrameTimes:
    """The time of each frame from the first.

    References
    ----------
    PS3.3 C.7.6.5 Cine Module: Frame Time and Frame Time Vector in milliseconds, Cine Rate in
    frames per second. PS3.3 C.7.6.16.2.2 Frame Content: Frame Reference DateTime, and Frame
    Acquisition DateTime, of an enhanced object.
    """
    if frames == 1:
        return FrameTimes(times_s=(0.0,))
    steps_ms = numbers(dataset.get("FrameTimeVector"))
    by_vector = _by_vector(steps_ms, frames)
    odd = (ODD_FRAME_TIMES,) if steps_ms and by_vector is None else ()
    by_clock = by_vector or _by_clock(dataset, frames)
    if by_clock is not None:
        return FrameTimes(times_s=by_clock, notices=odd)
    step_ms = positive(dataset.get("FrameTime"))
    if step_ms is not None:
        return FrameTimes(times_s=_even(step_ms, frames), notices=odd)
    per_s = positive(dataset.get("CineRate")) or positive(
        dataset.get("RecommendedDisplayFrameRate")
    )
    if per_s is not None:
        by_rate = _even(1000.0 / per_s, frames)
        return FrameTimes(times_s=by_rate, notices=(*odd, TIMES_BY_DISPLAY_RATE))
    return FrameTimes(times_s=None, notices=(*odd, NO_FRAME_TIMES))


def _even(step_ms: float, frames: int) -> Times:
    return tuple(frame * step_ms / 1000.0 for frame in range(frames))


def _by_vector(steps_ms: list[float | None], frames: int) -> Times | None:
    """Times by the increments from frame to frame; None where they cannot be right.

    The first increment belongs to the first frame and is zero by the standard; some files leave
    it out. An increment of zero later would put two frames at one moment.
    """
    if len(steps_ms) not in (frames, frames - 1):
        return None
    later = steps_ms[len(steps_ms) - (frames - 1) :]
    known = [step for step in later if step is not None and step > 0]
    if len(known) != frames - 1:
        return None
    return tuple(float(t) for t in np.cumsum([0.0, *known]) / 1000.0)


def _by_clock(dataset: Dataset, frames: int) -> Times | None:
    """Times by the clock of each frame, where every frame has one and they run forward."""
    for keyword in ("FrameReferenceDateTime", "FrameAcquisitionDateTime"):
        moments = [_moment(value) for value in stated_per_frame(dataset, keyword)]
        known = [moment for moment in moments if moment is not None]
        if len(known) != frames or len(moments) != frames:
            continue
        if len({moment.tzinfo is None for moment in known}) == 1:
            times = tuple((moment - known[0]).total_seconds() for moment in known)
            if all(earlier < later for earlier, later in pairwise(times)):
                return times
    return None


def _moment(value: object) -> DT | None:
    try:
        return DT(str(value)) if value is not None else None
    except (ValueError, TypeError):
        return None
