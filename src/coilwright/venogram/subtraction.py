"""Mask frames, motion, and the subtracted run."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from coilwright.veins import Notice
from coilwright.venogram.body_motion import BodyMotion, body_motion
from coilwright.venogram.catheter_path import lit_field
from coilwright.venogram.layers import enlarged, layers_of, seen_from
from coilwright.venogram.mean_picture import mean_of
from coilwright.venogram.motion import Array, carried_back

Float = npt.NDArray[np.float32]

# Taking the layers apart in the full picture starts from the shrunk one's, so few rounds do.
FULL_SIZE_ROUNDS = 3
# Frames over which contrast is taken to stay the same.
SAME_OPACITY = 4
# Of the motion through all full frames.
LEAST_SPREAD = 0.5
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
    ``field`` is where the beam reached the detector in enough frames, margin of the motion off.
    ``poses`` (frames, 3) is the whole of that motion; None where none was looked for.
    ``nothing_arrives`` where several frames show no change that contrast would make.
    """

    frames: Float
    mask: Float
    field: npt.NDArray[np.bool_]
    mask_frames: tuple[int, ...]
    reference_frame: int
    shifts_px: npt.NDArray[np.float64]
    notices: tuple[Notice, ...]
    poses: Array | None = None
    nothing_arrives: bool = False

    @property
    def motion_px(self) -> float:
        """Largest distance that any frame was moved by; 0 where none was."""
        return float(np.hypot(self.shifts_px[:, 0], self.shifts_px[:, 1]).max())


def subtract(
    absorbed: Float,
    mask_frames: tuple[int, ...] | None,
    poses: Array | None = None,
    plain: Float | None = None,
) -> SubtractedRun:
    """Subtract the mean of the mask frames from every frame, motion taken out.

    ``mask_frames`` are the operator's choice (from 0); None lets the run decide. ``poses`` is the
    motion, where it is known already, against the last of them; ``plain`` (rows, columns) is then 1
    where contrast never comes. Where a mask is
    found the contrast takes the place of ``absorbed``: the memory of a run is dear.
    """
    chosen = mask_frames if mask_frames is not None else find_mask_frames(absorbed)
    if not chosen:
        return _without_mask(absorbed, nothing_arrives=chosen is None)
    motion = body_motion(absorbed, chosen, poses, plain)
    if motion is None:
        return _of_still_patient(absorbed, chosen)
    if mask_frames is None:
        chosen = motion.before_contrast(chosen)
        motion = motion.seen_from(chosen[-1])
    return _of_breathing_patient(absorbed, chosen, motion, plain)


def _of_still_patient(absorbed: Float, chosen: tuple[int, ...]) -> SubtractedRun:
    mask = mean_of(absorbed, chosen)
    absorbed -= mask
    absorbed -= np.median(absorbed[:, ::4, ::4], axis=(1, 2), keepdims=True)
    return SubtractedRun(
        frames=absorbed,
        mask=mask,
        field=lit_field(mask),
        mask_frames=chosen,
        reference_frame=chosen[-1],
        shifts_px=np.zeros((len(absorbed), 2)),
        notices=(),
    )


def _of_breathing_patient(
    absorbed: Float, chosen: tuple[int, ...], motion: BodyMotion, plain: Float | None
) -> SubtractedRun:
    """What stands still goes where it stands, what moves goes in the pose of the last mask frame.

    Contrast and soft tissue move together: one moving layer before contrast, and one for every few
    frames in which it is full, since it thins out with time.
    """
    few = absorbed[:, ::4, ::4]
    level = np.median(few - few[chosen[-1]], axis=(1, 2))
    even = absorbed
    even -= level[:, None, None].astype(np.float32)
    lit = lit_field(mean_of(even, chosen)).astype(np.float32)
    full = motion.full_frames(chosen)
    in_turn = _in_turn(full, motion.poses)
    layers = layers_of(
        even,
        motion.poses,
        [chosen, *in_turn],
        FULL_SIZE_ROUNDS,
        still=enlarged(motion.still, even.shape[1:]),
        lit=lit,
        plain=plain,
    )
    before, *later = layers.moving
    filled = np.mean(later, axis=0) - before
    for number, (frame, pose) in enumerate(zip(even, motion.poses, strict=True)):
        np.subtract(carried_back(frame - layers.still, pose), before, out=frame)
        # Beyond the border of the field a frame shows nothing: it takes what the others saw.
        hidden = seen_from(lit, pose) <= 0.99
        np.copyto(frame, filled if number in full else np.float32(0.0), where=hidden)
        even[number] -= np.median(frame[::4, ::4])
    return SubtractedRun(
        frames=even,
        mask=layers.still + before,
        field=layers.seen,
        mask_frames=chosen,
        reference_frame=chosen[-1],
        shifts_px=motion.poses[:, :2],
        poses=motion.poses,
        notices=(),
    )


def _in_turn(full: tuple[int, ...], poses: Array) -> list[tuple[int, ...]]:
    """Full frames a few at a time, where each few moved enough to show what stands still."""
    parts = [full[first : first + SAME_OPACITY] for first in range(0, len(full), SAME_OPACITY)]
    spreads = [float(np.hypot(*poses[list(part), :2].std(0))) for part in (full, *parts)]
    return parts if min(spreads[1:]) >= LEAST_SPREAD * spreads[0] else [full]


def _without_mask(absorbed: Float, *, nothing_arrives: bool) -> SubtractedRun:
    """Each frame against its own smooth background, for runs that start with contrast."""
    size = max(absorbed.shape[1:]) // 12
    frames = np.stack([frame - cv2.GaussianBlur(frame, (0, 0), size) for frame in absorbed])
    return SubtractedRun(
        frames=frames,
        mask=np.zeros_like(absorbed[0]),
        field=np.ones(absorbed.shape[1:], dtype=np.bool_),
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
            cv2.GaussianBlur(
                cv2.resize(f, None, fx=1 / step, fy=1 / step, interpolation=cv2.INTER_AREA),
                (0, 0),
                1.5,
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
