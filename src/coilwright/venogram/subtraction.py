"""Mask frames, motion, and the subtracted run."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from coilwright.veins import Notice
from coilwright.venogram.motion import frame_shift_px, reference_of, shifted

Float = npt.NDArray[np.float32]

NO_MASK = Notice(
    code="no-mask",
    text="contrast is there from the first frame: no mask exists; bone, gas and the "
    "catheter are not subtracted, and the catheter's course may pass for a vein",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SubtractedRun:
    """Contrast alone, frame by frame, in the grid of ``reference_frame``.

    ``frames`` is (frames, rows, columns); ``mask`` the averaged absorption before contrast, in
    the same grid; ``shifts_px`` what each frame was moved by, (frames, 2) as x, y.
    ``nothing_arrives`` where several frames show no change that contrast would make.
    """

    frames: Float
    mask: Float
    mask_frames: tuple[int, ...]
    reference_frame: int
    shifts_px: npt.NDArray[np.float64]
    notices: tuple[Notice, ...]
    nothing_arrives: bool = False

    @property
    def motion_px(self) -> float:
        """Largest distance that any frame was moved by; 0 where none was."""
        return float(np.hypot(self.shifts_px[:, 0], self.shifts_px[:, 1]).max())


def subtract(absorbed: Float, mask_frames: tuple[int, ...] | None) -> SubtractedRun:
    """Subtract the mean of the mask frames from every frame, motion taken out.

    ``mask_frames`` are the operator's choice (from 0); None lets the run decide.
    """
    chosen = mask_frames if mask_frames is not None else find_mask_frames(absorbed)
    if not chosen:
        return _without_mask(absorbed, nothing_arrives=chosen is None)
    reference = chosen[-1]
    steady = reference_of(absorbed[reference])
    shifts = np.array([frame_shift_px(frame, steady) for frame in absorbed])
    aligned = np.stack([shifted(f, (-x, -y)) for f, (x, y) in zip(absorbed, shifts, strict=True)])
    mask = aligned[list(chosen)].mean(0)
    frames = aligned - mask
    frames -= np.median(frames[:, ::4, ::4], axis=(1, 2), keepdims=True)
    return SubtractedRun(
        frames=frames,
        mask=mask,
        mask_frames=chosen,
        reference_frame=reference,
        shifts_px=shifts,
        notices=(),
    )


def _without_mask(absorbed: Float, *, nothing_arrives: bool) -> SubtractedRun:
    """Each frame against its own smooth background, for runs that start with contrast."""
    size = max(absorbed.shape[1:]) // 12
    frames = np.stack([frame - cv2.GaussianBlur(frame, (0, 0), size) for frame in absorbed])
    return SubtractedRun(
        frames=frames,
        mask=np.zeros_like(absorbed[0]),
        mask_frames=(),
        reference_frame=0,
        shifts_px=np.zeros((len(absorbed), 2)),
        notices=(NO_MASK,),
        nothing_arrives=nothing_arrives,
    )


def find_mask_frames(absorbed: Float) -> tuple[int, ...] | None:
    """The frames before contrast shows, from 0; empty where it shows at once, None if never.

    Contrast adds on one side only; motion and noise do so on both, so each frame is scored by how
    far the upper tail of its change exceeds the lower.
    """
    if len(absorbed) < 3:
        return ()
    step = max(1, absorbed.shape[1] // 256)
    small = np.stack(
        [
            cv2.resize(
                cv2.GaussianBlur(f, (0, 0), 1.5 * step),
                None,
                fx=1 / step,
                fy=1 / step,
                interpolation=cv2.INTER_AREA,
            )
            for f in absorbed
        ]
    )
    score, noise = _one_sided_score(small)
    threshold = max(0.06 * float(score.max()), 1.5 * noise)
    rising = np.flatnonzero(score > threshold)
    if not rising.size:
        return None
    onset = int(rising[0])
    if onset < 2:
        return ()
    return tuple(range(onset - 1 if onset > 3 else onset))


def _one_sided_score(small: Float) -> tuple[npt.NDArray[np.float64], float]:
    """Score per frame, and the noise (one standard deviation) of a change in one pixel."""
    change = small - small[0]
    change -= np.median(change, axis=(1, 2), keepdims=True)
    high = np.percentile(change, 99.8, axis=(1, 2))
    low = np.percentile(change, 0.2, axis=(1, 2))
    noise = 1.4826 * float(np.median(np.abs(change[1])))
    return np.asarray(high + low, dtype=np.float64), noise
