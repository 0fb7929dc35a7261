"""What stands still and what the breath carries, taken apart: absorption adds in log space."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
from scipy.ndimage import distance_transform_edt

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
) -> Layers:
    """Still and moving layers by turns, each the mean of what the other leaves (backfitting).

    Parameters
    ----------
    frames : (frames, rows, columns), absorption
    poses : (frames, 3)
    groups : frames that share one moving layer, such as those before contrast and those filled
    still : where to start from
    lit : 1 where the beam reached the detector, else 0

    References
    ----------
    Buja A, Hastie T, Tibshirani R. Linear smoothers and additive models. Ann Stat 1989;17:453-510.
    """
    known = np.zeros_like(frames[0]) if still is None else still
    field = np.ones_like(frames[0]) if lit is None else lit
    shares = [_share_seen(field, poses[list(group)]) for group in groups]
    nearest = [_nearest_seen(share) for share in shares]
    moving: tuple[Float, ...] = ()
    for _ in range(rounds):
        moving = tuple(
            (_moving(frames, poses, group, known, field) / share)[near]
            for group, share, near in zip(groups, shares, nearest, strict=True)
        )
        known = LEANING * _still(frames, poses, groups, moving)
    seen = np.all([share >= LEAST_SHARE for share in shares], axis=0)
    return Layers(still=known, moving=moving, seen=np.asarray(seen, dtype=np.bool_))


def seen_from(lit: Float, pose: Array) -> Float:
    """Share of each pixel of the reference frame that one frame shows, 0 beyond its border."""
    rim = cv2.copyMakeBorder(lit[1:-1, 1:-1], 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0.0)
    back = carried_back(np.asarray(rim, np.float32), pose, interpolation=cv2.INTER_LINEAR)
    return back if np.any(pose) else lit


def _share_seen(lit: Float, poses: Array) -> Float:
    total = np.sum([seen_from(lit, pose) for pose in poses], axis=0)
    return np.asarray(np.maximum(total / len(poses), 1e-3), dtype=np.float32)


def _nearest_seen(share: Float) -> Any:
    """Index of each pixel's own value, or of the nearest that the field ever showed."""
    unseen = share < LEAST_SHARE
    if not unseen.any():
        return ...
    return tuple(distance_transform_edt(unseen, return_distances=False, return_indices=True))


def _moving(frames: Float, poses: Array, group: tuple[int, ...], still: Float, lit: Float) -> Float:
    total = np.zeros_like(still)
    for frame in group:
        left = carried_back(frames[frame] - still, poses[frame])
        total += left * seen_from(lit, poses[frame])
    return np.asarray(total / np.float32(len(group)))


def _still(
    frames: Float, poses: Array, groups: Sequence[tuple[int, ...]], moving: tuple[Float, ...]
) -> Float:
    total = np.zeros_like(frames[0])
    for layer, group in zip(moving, groups, strict=True):
        for frame in group:
            total += frames[frame] - carried(layer, poses[frame])
    return np.asarray(total / np.float32(sum(len(group) for group in groups)))


def enlarged(layer: Float, shape: tuple[int, int]) -> Float:
    """A layer of a shrunk picture in the grid of the full one."""
    rows, columns = shape
    large = cv2.resize(layer, (columns, rows), interpolation=cv2.INTER_CUBIC)
    return np.asarray(large, dtype=np.float32)
