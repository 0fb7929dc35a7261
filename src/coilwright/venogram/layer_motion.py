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

from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt
from scipy.optimize import minimize

from coilwright.venogram.layers import layers_of
from coilwright.venogram.motion import Array, Float, carried, from_frame

Mask = npt.NDArray[np.bool_]
Complex = npt.NDArray[np.complex64]

SEARCH_SIZE_PX = 256
BLOCK_PX = 128
# Cycles per pixel of the shrunk picture: first what no shift can alias, then the finer detail.
COARSEST, COARSE, FINE = 0.02, 0.07, 0.2
# Slow changes (tube output, scatter, the flanks) say nothing of motion.
FLATTEN_PX = 7.0
ITERATIONS = 60
ONE_SHIFT_ROUNDS = 5
START_PARTS = (1.0, 3.0, -1.0)
# One standard deviation: what breathing does, in shrunk pixels and radians.
USUAL_SHIFT_PX, USUAL_TURN_RAD = 5.0, 0.01
# The search runs in units in which a shift and a turn weigh alike.
TURN_UNIT_RAD = 0.01
POSE_UNITS = np.array([1.0, 1.0, TURN_UNIT_RAD])
# Keeps a moving layer that cannot be told from the still one from growing without bound.
LEAST_LAYER = 1e-5
CONTRAST_OVER_NOISE = 5.0
# Pixels that two layers explain worse than this many times the typical one: gas, faint contrast.
UNEXPLAINED = 1.8
# Rendered runs: at most 3 where the patient kept still, 15 and more where he breathed.
LEAST_GAIN = 4.0
# Below this the interpolation of a shift costs more than the shift does.
LEAVE_ALONE_PX = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class _Block:
    """The spectrum of one window of every frame (frames, k), and its middle from the picture's."""

    spectrum: Complex
    x_px: float
    y_px: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Blocks:
    """Windows over the picture; ``kx``, ``ky`` in radians per pixel; the noise of one value."""

    blocks: tuple[_Block, ...]
    kx: Float
    ky: Float
    noise: float


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
    poses = _best_fitted(start, _blocks(flat, weight, COARSE))
    for finest in (COARSE, FINE):
        weight = _explained(flat, weight, from_frame(poses, reference))
        blocks = _blocks(flat, weight, finest)
        if not blocks.blocks:
            return np.zeros((len(small), 3))
        poses = _fitted(poses, blocks, turns=True)
        if _gain_over_chance(poses, blocks) < LEAST_GAIN:
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
        warped = carried(reference, pose)
        gradient = -np.stack(
            [np.gradient(warped, axis=1).ravel(), np.gradient(warped, axis=0).ravel()]
        )
        residual = (frame - warped).ravel()
        spread = 1.4826 * float(np.median(np.abs(residual[weight.ravel() > 0.3]))) + 1e-9
        trust = weight.ravel() * np.clip(1.0 - (residual / (4.0 * spread)) ** 2, 0.0, None) ** 2
        normal = (gradient * trust) @ gradient.T + 1e-9 * np.eye(2)
        pose[:2] += np.linalg.solve(normal, (gradient * trust) @ residual)
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


def _blocks(flat: Float, weight: Float, finest: float) -> _Blocks:
    """Spectra of half-overlapping windows that hold something known."""
    rows, columns = flat.shape[1:]
    size = min(BLOCK_PX, rows, columns)
    window = np.outer(np.hanning(size + 2)[1:-1], np.hanning(size + 2)[1:-1]).astype(np.float32)
    ky, kx = np.meshgrid(
        2 * np.pi * np.fft.fftfreq(size), 2 * np.pi * np.fft.rfftfreq(size), indexing="ij"
    )
    cycles = np.hypot(kx, ky) / (2 * np.pi)
    used = (cycles > COARSEST) & (cycles < finest) & (kx > 0)
    found = []
    for y in _starts(rows, size):
        for x in _starts(columns, size):
            seen = window * weight[y : y + size, x : x + size]
            if seen.sum() < 0.1 * window.sum():
                continue
            spectrum = np.fft.rfft2(flat[:, y : y + size, x : x + size] * seen)[:, used]
            found.append(
                _Block(
                    spectrum=spectrum.astype(np.complex64),
                    x_px=x + (size - columns) / 2.0,
                    y_px=y + (size - rows) / 2.0,
                )
            )
    return _Blocks(
        blocks=tuple(found),
        kx=kx[used].astype(np.float32),
        ky=ky[used].astype(np.float32),
        noise=1.0,
    )


def _starts(length: int, size: int) -> list[int]:
    count = max(1, round(2 * (length - size) / size) + 1)
    return [round(v) for v in np.linspace(0, length - size, count)]


def _fitted(poses: Array, blocks: _Blocks, *, turns: bool) -> Array:
    """Poses that leave the least unexplained, from poses nearby."""
    blocks = replace(blocks, noise=_left_per_value(poses, blocks))
    free = [(None, None), (None, None), (None, None) if turns else (0.0, 0.0)]
    # Off the saddle at rest, where no frame tells the layers apart.
    nudge = 1e-3 * np.random.default_rng(0).normal(size=poses.shape)
    found = minimize(
        _unexplained,
        (poses / POSE_UNITS + nudge).ravel(),
        args=(blocks,),
        jac=True,
        method="L-BFGS-B",
        bounds=None if turns else free * len(poses),
        options={"maxiter": ITERATIONS},
    )
    return np.asarray(found.x.reshape(poses.shape) * POSE_UNITS)


def _best_fitted(start: Array, blocks: _Blocks) -> Array:
    """The best of the fits from several multiples of a start that is too small, or turned round."""
    fits = [_fitted(part * start, blocks, turns=False) for part in START_PARTS]
    return min(fits, key=lambda poses: _left_per_value(poses, blocks))


def _left_per_value(poses: Array, blocks: _Blocks) -> float:
    """Mean power that poses leave unexplained: what counts as noise while they are bettered."""
    left, _ = _unexplained((poses / POSE_UNITS).ravel(), replace(blocks, noise=1.0))
    values = sum(block.spectrum.size for block in blocks.blocks)
    return max(left / max(values, 1), 1e-12)


def _gain_over_chance(poses: Array, blocks: _Blocks) -> float:
    """How much more of a still patient's remainder the poses explain than noise would, about 1.

    A moving layer fitted to noise takes about one part in as many as there are frames less one.
    """
    moved = _left_per_value(poses, blocks)
    rest = _left_per_value(np.zeros_like(poses), blocks)
    return (1.0 - moved / rest) * (len(poses) - 1)


def _unexplained(values: Array, blocks: _Blocks) -> tuple[float, Array]:
    """Energy left by the best two layers, over that of noise, and its slope by each value."""
    poses = values.reshape(-1, 3)
    usual = np.array([USUAL_SHIFT_PX, USUAL_SHIFT_PX, USUAL_TURN_RAD / TURN_UNIT_RAD])
    energy, slope = 0.0, np.zeros_like(poses)
    for block in blocks.blocks:
        x_arm, y_arm = -TURN_UNIT_RAD * block.y_px, TURN_UNIT_RAD * block.x_px
        left, by_x, by_y = _block_unexplained(
            block.spectrum,
            poses[:, 0] + x_arm * poses[:, 2],
            poses[:, 1] + y_arm * poses[:, 2],
            blocks,
        )
        energy += left
        slope += np.column_stack([by_x, by_y, x_arm * by_x + y_arm * by_y])
    energy = energy / blocks.noise + 0.5 * float(((poses / usual) ** 2).sum())
    return energy, (slope / blocks.noise + poses / usual**2).ravel()


def _block_unexplained(
    spectrum: Complex, x_px: Array, y_px: Array, blocks: _Blocks
) -> tuple[float, Array, Array]:
    """Energy left in one block, and its slope by each frame's shift (envelope theorem)."""
    frames = len(spectrum)
    phase = np.outer(x_px, blocks.kx) + np.outer(y_px, blocks.ky)
    turned = np.exp(-1j * phase.astype(np.float32))
    shared = turned.sum(0)
    total, returned = spectrum.sum(0), (np.conj(turned) * spectrum).sum(0)
    moving_weight = frames * (1.0 + LEAST_LAYER)
    determinant = frames * moving_weight - np.abs(shared) ** 2
    still = (moving_weight * total - shared * returned) / determinant
    moving = (frames * returned - np.conj(shared) * total) / determinant
    there = turned * moving
    left = spectrum - still - there
    energy = (np.abs(left) ** 2).sum() + LEAST_LAYER * frames * (np.abs(moving) ** 2).sum()
    by_phase = -2.0 * (np.conj(left) * there).imag
    return float(energy), by_phase @ blocks.kx, by_phase @ blocks.ky


def _explained(flat: Float, weight: Float, poses: Array) -> Float:
    """The weight without what two layers do not explain: gas on its own way, faint contrast."""
    layers = layers_of(flat, poses, [tuple(range(len(flat)))], rounds=5)
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
