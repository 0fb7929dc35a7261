"""What stands still and what the breath carries, taken apart: absorption adds in log space."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from coilwright.venogram.motion import Array, Float, carried, carried_back

# A moving layer is known where at least this share of its frames shows it.
LEAST_SHARE = 0.3
# What the motion cannot tell apart is left to the moving layer: there it cancels between groups.
LEANING = np.float32(0.98)


@dataclass(frozen=True, slots=True, kw_only=True)
class Layers:
    """``still`` (rows, columns), and one moving layer per group of frames, in the reference pose.

    ``seen`` marks where every moving layer was shown, in the reference pose.

    Any smooth part of one may stand in the other: a motion of millimetres does not tell which.
    """

    still: Float
    moving: tuple[Float, ...]
    seen: npt.NDArray[np.bool_]


def layers_of(
    frames: Float,
    poses: Array,
    groups: Sequence[tuple[int, ...]],
    rounds: int,
    *,
    still: Float | None = None,
    lit: Float | None = None,
    plain: Float | None = None,
) -> Layers:
    """Still and moving layers by turns, each the mean of what the other leaves (backfitting).

    Parameters
    ----------
    frames : (frames, rows, columns), absorption
    poses : (frames, 3)
    groups : frames that share one moving layer, such as those before contrast and those filled
    still : where to start from
    lit : 1 where the beam reached the detector, else 0
    plain : 1 where contrast never comes in the reference pose, so that all groups show the same
        there, else 0; what stands still is then told by the motion between the groups as well

    References
    ----------
    Buja A, Hastie T, Tibshirani R. Linear smoothers and additive models. Ann Stat 1989;17:453-510.
    """
    known = np.zeros_like(frames[0]) if still is None else still
    field = np.ones_like(frames[0]) if lit is None else lit
    parts = [_part(field, group, poses) for group in groups]
    leaning = np.float32(LEANING / sum(len(part.frames) for part in parts))
    moving = [part.at_rest(frames[t] - known for t in part.frames) for part in parts]
    moving = _tied(moving, parts, plain)
    found = _sum_of(frames[t] for part in parts for t in part.frames)
    for part, layer in zip(parts, moving, strict=True):
        found -= part.sum_in_poses(layer, cv2.INTER_CUBIC)
    found *= leaning
    change = found - known
    # From a start that is nearly right little is left to change: linear does, four times as fast.
    how = cv2.INTER_CUBIC if still is None else cv2.INTER_LINEAR
    for _ in range(rounds - 1):
        steps = [part.at_rest([-change] * len(part.frames), interpolation=how) for part in parts]
        steps = _tied(steps, parts, plain)
        moving = [layer + step for layer, step in zip(moving, steps, strict=True)]
        gone = [part.sum_in_poses(step, how) for part, step in zip(parts, steps, strict=True)]
        change = -leaning * _sum_of(gone)
        found += change
    seen = np.all([part.share >= LEAST_SHARE for part in parts], axis=0)
    return Layers(still=found, moving=tuple(moving), seen=np.asarray(seen, dtype=np.bool_))


def _tied(moving: list[Float], parts: list["_Part"], plain: Float | None) -> list[Float]:
    """The groups' layers with their common mean where no contrast comes between them."""
    if plain is None or len(parts) < 2:
        return moving
    weights = [part.share * np.float32(len(part.frames)) for part in parts]
    mean = _sum_of(w * m for w, m in zip(weights, moving, strict=True)) / _sum_of(weights)
    return [np.asarray(layer + plain * (mean - layer), np.float32) for layer in moving]


def seen_from(lit: Float, pose: Array) -> Float:
    """Share of each pixel of the reference frame that one frame shows, 0 beyond its border."""
    if not np.any(pose):
        return lit
    rim = cv2.copyMakeBorder(lit[1:-1, 1:-1], 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0.0)
    return carried_back(np.asarray(rim, np.float32), pose, interpolation=cv2.INTER_LINEAR)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """Frames that share a moving layer.

    ``seen`` is what each of them shows of the reference frame, ``share`` the mean of that;
    ``unseen`` are the flat indices of what hardly any shows, ``nearest`` those that stand for it.
    """

    frames: tuple[int, ...]
    poses: Array
    seen: list[Float]
    share: Float
    unseen: npt.NDArray[np.intp]
    nearest: npt.NDArray[np.intp]

    def at_rest(self, pictures: Iterable[Float], *, interpolation: int = cv2.INTER_CUBIC) -> Float:
        """Mean of pictures, one of each frame, brought back to the reference frame."""
        total = np.zeros_like(self.share)
        for picture, pose, seen in zip(pictures, self.poses, self.seen, strict=True):
            total += carried_back(picture, pose, interpolation=interpolation) * seen
        total /= self.share * np.float32(len(self.frames))
        total.ravel()[self.unseen] = total.ravel()[self.nearest]
        return total

    def sum_in_poses(self, layer: Float, interpolation: int) -> Float:
        """Sum of a layer as it stands in each frame."""
        return _sum_of(carried(layer, pose, interpolation=interpolation) for pose in self.poses)


def _sum_of(pictures: Iterable[Float]) -> Float:
    pictures = iter(pictures)
    total = next(pictures).copy()
    for picture in pictures:
        total += picture
    return total


def _part(lit: Float, frames: tuple[int, ...], poses: Array) -> _Part:
    own = poses[list(frames)]
    seen = [seen_from(lit, pose) for pose in own]
    share = np.maximum(_sum_of(seen) / np.float32(len(seen)), np.float32(1e-3))
    unseen = (share < LEAST_SHARE).astype(np.uint8)
    _, owner = cv2.distanceTransformWithLabels(
        unseen, cv2.DIST_L2, cv2.DIST_MASK_5, labelType=cv2.DIST_LABEL_PIXEL
    )
    shown, hidden = np.flatnonzero(unseen == 0), np.flatnonzero(unseen)
    place = np.zeros(int(owner.max()) + 1, dtype=np.intp)
    place[owner.ravel()[shown]] = shown
    return _Part(
        frames=frames,
        poses=own,
        seen=seen,
        share=share,
        unseen=hidden,
        nearest=place[owner.ravel()[hidden]],
    )


def enlarged(layer: Float, shape: tuple[int, int]) -> Float:
    """A layer of a shrunk picture in the grid of the full one."""
    rows, columns = shape
    large = cv2.resize(layer, (columns, rows), interpolation=cv2.INTER_CUBIC)
    return np.asarray(large, dtype=np.float32)
