"""How the soft tissue moved in each frame, seen through the bone that did not.

An X-ray picture is a sum of layers in log space: spine, pelvis, table and collimator stand still
while soft tissue, veins and catheter are carried by the breath. One picture registered to another
is held back by the still layer. So both layers are unknown here: for given poses they are the
least-squares solution at each spatial frequency, A_t(k) = S(k) + exp(-i k d_t) M(k), and the poses
are those that leave the least of the frames unexplained (variable projection).

References
----------
Golub GH, Pereyra V. The differentiation of pseudo-inverses and nonlinear least squares problems
whose variables separate. SIAM J Numer Anal 1973;10:413-432.
"""

import cv2
import numpy as np
import numpy.typing as npt

from coilwright.venogram.layer_fit import (
    best_fitted,
    best_gain,
    fitted,
    gain_over_chance,
    windows_of,
)
from coilwright.venogram.layers import layers_of
from coilwright.venogram.motion import Array, Float, carried, from_frame

Mask = npt.NDArray[np.bool_]

SEARCH_SIZE_PX = 256
# Cycles per pixel of the shrunk picture: first what no shift can alias, then the finer detail.
COARSE, FINE = 0.07, 0.2
# Slow changes (tube output, scatter, the flanks) say nothing of motion.
FLATTEN_PX = 7.0
ONE_SHIFT_ROUNDS, SETTLED_PX = 5, 0.02
CONTRAST_OVER_NOISE = 5.0
# Pixels that two layers explain worse than this many times the typical one: gas, faint contrast.
UNEXPLAINED = 1.8
# Rendered runs: at most 3 where the patient kept still, 15 and more where he breathed.
LEAST_GAIN = 4.0
# A single shift is too small where bone stays, yet rendered runs: below 0.01 px and 0.5 where the
# patient kept still, above 0.04 px and 3 where he breathed.
STILL_PX, STILL_GAIN = 0.02, 1.0
# Below this the interpolation of a shift costs more than the shift does.
LEAVE_ALONE_PX = 0.3


def body_poses(small: Float, lit: Mask, mask_frames: tuple[int, ...]) -> Array:
    """Pose of each frame against the last mask frame, (frames, 3); zero for a still patient.

    Parameters
    ----------
    small : (frames, rows, columns), absorption, at most about ``SEARCH_SIZE_PX`` on a side
    lit : where the beam reached the detector
    mask_frames : frames before contrast
    """
    weight = _quiet(small, lit, mask_frames)
    flat = _flattened(small, weight > 0)
    weight = cv2.GaussianBlur(weight, (0, 0), 2.0) * weight
    reference = mask_frames[-1]
    start = np.zeros((len(small), 3))
    start[:, :2] = [one_shift_px(frame, flat[reference], weight) for frame in flat]
    windows = windows_of(flat, weight, COARSE)
    if np.abs(start).max() < STILL_PX and best_gain(start, windows) < STILL_GAIN:
        return np.zeros((len(small), 3))
    poses = best_fitted(start, windows)
    for finest in (COARSE, FINE):
        weight = _explained(flat, weight, from_frame(poses, reference))
        windows = windows_of(flat, weight, finest)
        if not windows.windows:
            return np.zeros((len(small), 3))
        poses = fitted(poses, windows, turns=True)
        if gain_over_chance(poses, windows) < LEAST_GAIN:
            return np.zeros((len(small), 3))
    return from_frame(poses, reference)


def one_shift_px(frame: Float, reference: Float, weight: Float) -> tuple[float, float]:
    """Shift (x, y) that carries all of the reference onto a frame: too small where bone stays.

    References
    ----------
    Lucas BD, Kanade T. An iterative image registration technique. IJCAI 1981, 674-679; residuals
    weighted by Tukey's biweight.
    """
    pose = np.zeros(3)
    for _ in range(ONE_SHIFT_ROUNDS):
        warped = carried(reference, pose, interpolation=cv2.INTER_LINEAR)
        gradient = -np.stack(
            [np.gradient(warped, axis=1).ravel(), np.gradient(warped, axis=0).ravel()]
        )
        residual = (frame - warped).ravel()
        spread = 1.4826 * float(np.median(np.abs(residual[weight.ravel() > 0.3]))) + 1e-9
        trust = weight.ravel() * np.clip(1.0 - (residual / (4.0 * spread)) ** 2, 0.0, None) ** 2
        normal = (gradient * trust) @ gradient.T + 1e-9 * np.eye(2)
        step = np.linalg.solve(normal, (gradient * trust) @ residual)
        pose[:2] += step
        if np.abs(step).max() < SETTLED_PX:
            break
    return float(pose[0]), float(pose[1])


def _quiet(small: Float, lit: Mask, mask_frames: tuple[int, ...]) -> Float:
    """1 inside the field where contrast never shows, else 0."""
    field = cv2.erode(lit.astype(np.uint8), np.ones((7, 7), np.uint8), borderValue=1) > 0
    flat = _flattened(small, lit, 16.0)
    before = flat[list(mask_frames)].mean(0)
    most = np.max(
        [
            cv2.GaussianBlur(flat[first : first + 3].mean(0) - before, (0, 0), 1.0)
            for first in range(0, max(1, len(flat) - 2), 2)
        ],
        axis=0,
    )
    most -= np.median(most[field])
    spread = 1.4826 * float(np.median(np.abs(most[field])))
    contrast = cv2.dilate(
        (most > CONTRAST_OVER_NOISE * spread).astype(np.uint8), np.ones((5, 5), np.uint8)
    )
    return np.asarray(field & (contrast == 0), dtype=np.float32)


def _flattened(small: Float, known: Mask, sigma_px: float = FLATTEN_PX) -> Float:
    """Frames less their own smooth background, 0 where nothing is known."""
    where = known.astype(np.float32)
    share = cv2.GaussianBlur(where, (0, 0), sigma_px) + 1e-3
    return np.array(
        [(f - cv2.GaussianBlur(f * where, (0, 0), sigma_px) / share) * where for f in small]
    )


def _explained(flat: Float, weight: Float, poses: Array) -> Float:
    """The weight without what two layers do not explain: gas on its own way, faint contrast."""
    unknown = np.zeros_like(flat[0])
    layers = layers_of(flat, poses, [tuple(range(len(flat)))], rounds=5, still=unknown)
    left = [
        cv2.GaussianBlur(frame - layers.still - carried(layers.moving[0], pose), (0, 0), 1.5)
        for frame, pose in zip(flat, poses, strict=True)
    ]
    size = np.sqrt((np.array(left) ** 2).mean(0))
    known = weight > 0.3
    if not known.any():
        return weight
    bad = (size > UNEXPLAINED * float(np.median(size[known]))).astype(np.uint8)
    kept = weight * (cv2.dilate(bad, np.ones((5, 5), np.uint8)) == 0)
    return np.asarray(cv2.GaussianBlur(kept, (0, 0), 2.0) * (kept > 0), dtype=np.float32)
