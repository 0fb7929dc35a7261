"""The body's motion through a run, worked out on shrunk frames."""

from dataclasses import dataclass, replace

import cv2
import numpy as np

from coilwright.venogram.catheter_path import lit_field
from coilwright.venogram.layer_motion import LEAVE_ALONE_PX, SEARCH_SIZE_PX, body_poses
from coilwright.venogram.layers import layers_of
from coilwright.venogram.mean_picture import mean_of
from coilwright.venogram.motion import Array, Float, carried_back, from_frame, shrunk_pose
from coilwright.venogram.opacification import filling

ROUNDS = 20
MOST_FULL = 12
# Of the strongest opacity: what fills at all, and what counts as contrast in a frame.
FILLS, FIRST_CONTRAST = 0.2, 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class BodyMotion:
    """``poses`` (frames, 3) of the full-size frames against a reference frame.

    ``still`` is what does not move, ``at_rest`` (frames, rows, columns) what does, brought back to
    the reference frame; both shrunk.
    """

    poses: Array
    still: Float
    at_rest: Float

    def seen_from(self, frame: int) -> "BodyMotion":
        """The same motion with another reference frame."""
        return replace(self, poses=from_frame(self.poses, frame))

    def before_contrast(self, mask_frames: tuple[int, ...]) -> tuple[int, ...]:
        """Those of the mask frames that come before any contrast, the motion taken out.

        Only places that fill later are looked at, and contrast adds on one side alone.
        """
        first = self.at_rest[list(mask_frames[: (len(mask_frames) + 1) // 2])].mean(0)
        change = np.stack([cv2.GaussianBlur(f - first, (0, 0), 1.0) for f in self.at_rest])
        change -= np.median(change, axis=(1, 2), keepdims=True)
        late = np.median(change[-max(3, len(change) // 3) :], axis=0)
        top = float(np.percentile(late, 99.8))
        high, low = np.percentile(change[:, late > FILLS * top], (99, 1), axis=1)
        shows = np.flatnonzero(high > np.maximum(FIRST_CONTRAST * top, -2.0 * low))
        onset = int(shows[0]) if shows.size else len(change)
        return tuple(t for t in mask_frames if t < onset) or mask_frames[:1]

    def full_frames(self, mask_frames: tuple[int, ...]) -> tuple[int, ...]:
        """Frames in which the tree is filled best, at most ``MOST_FULL`` of them."""
        strength = filling(self.at_rest - self.at_rest[list(mask_frames)].mean(0))
        full = [int(t) for t in np.flatnonzero(strength >= 0.9 * strength.max())]
        full = [t for t in full if t not in mask_frames] or [int(strength.argmax())]
        every = np.unique(np.linspace(0, len(full) - 1, min(len(full), MOST_FULL)).round())
        return tuple(full[int(n)] for n in every)


def body_motion(
    absorbed: Float,
    mask_frames: tuple[int, ...],
    known: Array | None = None,
    plain: Float | None = None,
) -> BodyMotion | None:
    """How the body moved against the last mask frame; None where it kept still.

    ``known`` are the poses (frames, 3), where they have been found already; ``plain`` (rows,
    columns) is 1 where contrast never comes, where that is known.
    """
    shrink = max(1, round(max(absorbed.shape[1:]) / SEARCH_SIZE_PX))
    small = np.stack([_shrunk(frame, shrink) for frame in absorbed])
    small -= np.median(small - small[mask_frames[-1]], axis=(1, 2), keepdims=True)
    lit = lit_field(mean_of(absorbed, mask_frames)).astype(np.float32)
    small_lit = _resized(lit, shrink) > 0.99
    if known is None:
        poses = body_poses(small, small_lit, mask_frames)
    else:
        poses = shrunk_pose(known, shrink)
    moved = np.hypot(poses[:, 0], poses[:, 1]) + np.abs(poses[:, 2]) * max(small.shape[1:]) / 4
    if float(moved.max()) * shrink < LEAVE_ALONE_PX:
        return None
    later = tuple(range(mask_frames[-1] + 1 + (len(small) - mask_frames[-1]) // 2, len(small)))
    groups = [mask_frames, later or (len(small) - 1,)]
    layers = layers_of(
        small,
        poses,
        groups,
        ROUNDS,
        lit=small_lit.astype(np.float32),
        plain=None if plain is None else _resized(plain, shrink),
    )
    return BodyMotion(
        poses=shrunk_pose(poses, 1.0 / shrink),
        still=layers.still,
        at_rest=np.stack(
            [carried_back(f - layers.still, p) for f, p in zip(small, poses, strict=True)]
        ),
    )


def _shrunk(picture: Float, shrink: int) -> Float:
    return np.asarray(cv2.GaussianBlur(_resized(picture, shrink), (0, 0), 0.8), dtype=np.float32)


def _resized(picture: Float, shrink: int) -> Float:
    small = cv2.resize(picture, None, fx=1 / shrink, fy=1 / shrink, interpolation=cv2.INTER_AREA)
    return np.asarray(small, dtype=np.float32)
