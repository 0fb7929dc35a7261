"""Poses under which a still and a moving layer leave the least of the frames' spectra.

Within a window a turn is a shift. Frames enter less their mean, which the still layer takes up; for
given shifts both layers are the least-squares solution at each spatial frequency.

    left(k) = sum |A_t|^2 - F |R|^2 / (F^2 - |Q|^2)
    R = sum e_t A_t,  Q = sum e_t,  e_t = exp(i k d_t)
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.optimize import minimize

from coilwright.venogram.motion import Array, Float

Complex = npt.NDArray[np.complex64]

WINDOW_PX = 128
# Cycles per pixel; slower changes (tube output, scatter, the flanks) say nothing of motion.
COARSEST = 0.02
ITERATIONS = 60
# Of the misfit, in which one is a single value's noise: a gain of less tells nothing.
LEAST_PROGRESS = 1e-6
START_PARTS = (1.0, 3.0, -1.0)
# One standard deviation: what breathing does, in shrunk pixels and radians.
USUAL_SHIFT_PX, USUAL_TURN_RAD = 5.0, 0.01
# The search runs in units in which a shift and a turn weigh alike.
TURN_UNIT_RAD = 0.01
POSE_UNITS = np.array([1.0, 1.0, TURN_UNIT_RAD])
# Keeps a moving layer that cannot be told from the still one from growing without bound.
LEAST_LAYER = 1e-5


@dataclass(frozen=True, slots=True, kw_only=True)
class _Window:
    """The spectrum of one window of every frame (frames, ky, kx), less its mean over the frames.

    ``power`` is what all of it holds; ``x_px``, ``y_px`` its middle from the picture's.
    """

    spectrum: Complex
    power: float
    x_px: float
    y_px: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Windows:
    """Windows over the picture; ``kx``, ``ky`` in radians per pixel; the noise of one value."""

    windows: tuple[_Window, ...]
    kx: Array
    ky: Array
    values: int
    noise: float = 1.0


def windows_of(flat: Float, weight: Float, finest: float) -> Windows:
    """Spectra of half-overlapping windows that hold something known.

    Parameters
    ----------
    flat : (frames, rows, columns), without slow changes
    weight : (rows, columns), 0 where nothing is known
    finest : cycles per pixel up to which the pictures are looked at
    """
    rows, columns = flat.shape[1:]
    size = min(WINDOW_PX, rows, columns)
    window = np.outer(np.hanning(size + 2)[1:-1], np.hanning(size + 2)[1:-1]).astype(np.float32)
    y_cycles, x_cycles = np.fft.fftfreq(size), np.fft.rfftfreq(size)
    low, across = np.abs(y_cycles) < finest, (x_cycles > 0) & (x_cycles < finest)
    cycles = np.hypot(y_cycles[low, None], x_cycles[across])
    used = (cycles > COARSEST) & (cycles < finest)
    found = []
    for y in _starts(rows, size):
        for x in _starts(columns, size):
            seen = window * weight[y : y + size, x : x + size]
            if seen.sum() < 0.1 * window.sum():
                continue
            spectrum = np.fft.rfft2(flat[:, y : y + size, x : x + size] * seen)
            spectrum = spectrum[:, low][:, :, across] * used
            spectrum -= spectrum.mean(0)
            found.append(
                _Window(
                    spectrum=spectrum.astype(np.complex64),
                    power=float((np.abs(spectrum) ** 2).sum()),
                    x_px=x + (size - columns) / 2.0,
                    y_px=y + (size - rows) / 2.0,
                )
            )
    return Windows(
        windows=tuple(found),
        kx=np.asarray(2.0 * np.pi * x_cycles[across], dtype=np.float64),
        ky=np.asarray(2.0 * np.pi * y_cycles[low], dtype=np.float64),
        values=len(found) * len(flat) * int(used.sum()),
    )


def _starts(length: int, size: int) -> list[int]:
    count = max(1, round(2 * (length - size) / size) + 1)
    return [round(v) for v in np.linspace(0, length - size, count)]


def best_fitted(start: Array, windows: Windows) -> Array:
    """The best of the fits from several multiples of a start that is too small, or turned round."""
    fits = [fitted(part * start, windows, turns=False) for part in START_PARTS]
    return min(fits, key=lambda poses: _left_per_value(poses, windows))


def fitted(poses: Array, windows: Windows, *, turns: bool) -> Array:
    """Poses (frames, 3) that leave the least unexplained, from poses nearby."""
    windows = replace(windows, noise=_left_per_value(poses, windows))
    free = [(None, None), (None, None), (None, None) if turns else (0.0, 0.0)]
    # Off the saddle at rest, where no frame tells the layers apart.
    nudge = 1e-3 * np.random.default_rng(0).normal(size=poses.shape)
    found = minimize(
        _unexplained,
        (poses / POSE_UNITS + nudge).ravel(),
        args=(windows,),
        jac=True,
        method="L-BFGS-B",
        bounds=None if turns else free * len(poses),
        options={"maxiter": ITERATIONS, "ftol": LEAST_PROGRESS},
    )
    return np.asarray(found.x.reshape(poses.shape) * POSE_UNITS)


def gain_over_chance(poses: Array, windows: Windows) -> float:
    """How much more of a still patient's remainder the poses explain than noise would, about 1.

    A moving layer fitted to noise takes about one part in as many as there are frames less one.
    """
    moved = _left_per_value(poses, windows)
    rest = _left_per_value(np.zeros_like(poses), windows)
    return (1.0 - moved / rest) * (len(poses) - 1)


def best_gain(start: Array, windows: Windows) -> float:
    """The greatest gain of the multiples of a start, none of them fitted."""
    return max(gain_over_chance(part * start, windows) for part in START_PARTS)


def _left_per_value(poses: Array, windows: Windows) -> float:
    """Mean power that poses leave unexplained: what counts as noise while they are bettered."""
    left, _ = _unexplained((poses / POSE_UNITS).ravel(), replace(windows, noise=1.0))
    return max(left / max(windows.values, 1), 1e-12)


def _unexplained(values: Array, windows: Windows) -> tuple[float, Array]:
    """Energy left by the best two layers, over that of noise, and its slope by each value."""
    poses = values.reshape(-1, 3)
    usual = np.array([USUAL_SHIFT_PX, USUAL_SHIFT_PX, USUAL_TURN_RAD / TURN_UNIT_RAD])
    energy, slope = 0.0, np.zeros_like(poses)
    for window in windows.windows:
        x_arm, y_arm = -TURN_UNIT_RAD * window.y_px, TURN_UNIT_RAD * window.x_px
        left, by_x, by_y = _left_in_window(
            window,
            poses[:, 0] + x_arm * poses[:, 2],
            poses[:, 1] + y_arm * poses[:, 2],
            windows,
        )
        energy += left
        slope += np.column_stack([by_x, by_y, x_arm * by_x + y_arm * by_y])
    energy = energy / windows.noise + 0.5 * float(((poses / usual) ** 2).sum())
    return energy, (slope / windows.noise + poses / usual**2).ravel()


def _left_in_window(
    window: _Window, x_px: Array, y_px: Array, windows: Windows
) -> tuple[float, Array, Array]:
    """Energy left in one window, and its slope by each frame's shift."""
    frames = len(window.spectrum)
    by_row = np.exp(1j * np.outer(y_px, windows.ky))
    by_column = np.exp(1j * np.outer(x_px, windows.kx))
    brought_back = window.spectrum * by_row.astype(np.complex64)[:, :, None]
    brought_back *= by_column.astype(np.complex64)[:, None, :]
    total = brought_back.sum(0)
    # In double precision: what is left of its square is all that tells the layers apart.
    shared = by_row.T @ by_column
    determinant = frames**2 * (1.0 + LEAST_LAYER) - np.abs(shared) ** 2
    explained = frames * np.abs(total) ** 2 / determinant
    of_total = 2.0 * frames * np.conj(total) / determinant
    of_shared = 2.0 * explained * np.conj(shared) / determinant
    slopes = []
    for k in (windows.kx[None, :], windows.ky[:, None]):
        by_total = brought_back.reshape(frames, -1) @ (of_total * k).astype(np.complex64).ravel()
        by_shared = ((by_row @ (of_shared * k)) * by_column).sum(1)
        slopes.append((by_total + by_shared).imag)
    return window.power - float(explained.sum()), slopes[0], slopes[1]
