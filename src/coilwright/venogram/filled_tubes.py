"""The catheter before and with contrast in its lumen: both profiles fitted together.

The wall's shadow alone leaves outer width and lumen in each other's place. What contrast adds
outside the vein is the shadow of the lumen, so the two together tell them apart.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from coilwright.venogram.blurred_cylinder import Shape, gaussians, nodes, seen_blurred

Array = npt.NDArray[np.float64]
Float = npt.NDArray[np.float32]

RADIUS, OFFSET, WALL, LUMEN = range(4)
ROUNDS = 12
SETTLED_PX = 5e-3
HOPELESS_DAMPING = 1e3
SMALLEST_RADIUS_PX = 0.6
WALL_GROUND, CONTRAST_GROUND = 2, 1


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeProfiles:
    """Profiles (N, M) of pieces of catheter, and what each of their values counts.

    ``walls`` is the absorption before contrast, ``contrast`` what contrast adds; the counts
    ``wall_pixels`` and ``contrast_pixels`` are 0 where a value must not count.
    """

    walls: Array
    contrast: Array
    across_px: Array
    wall_pixels: Array
    contrast_pixels: Array

    def part(self, index: npt.NDArray[np.intp]) -> "TubeProfiles":
        """Some of the profiles, or some several times."""
        return TubeProfiles(**{name: getattr(self, name)[index] for name in self.__slots__})


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeFits:
    """One fit per piece, arrays (N,): costs are weighted sums of squares."""

    values: Array
    wall_cost: Array
    contrast_cost: Array

    @property
    def radius_px(self) -> Array:
        """Outer radius."""
        return self.values[:, RADIUS]

    @property
    def wall_per_px(self) -> Array:
        """Absorption of one pixel of wall."""
        return self.values[:, WALL]

    @property
    def lumen_per_px(self) -> Array:
        """Absorption of one pixel of what fills the lumen."""
        return self.values[:, LUMEN]


def fit_tubes(
    profiles: TubeProfiles,
    shape: Shape,
    lumen_ratio: Array,
    start: Array,
    contrast_counts: Array,
    rounds: int = ROUNDS,
) -> TubeFits:
    """Radius, axis, wall and lumen of each piece, under one chain and its own ratio of the lumen.

    Parameters
    ----------
    shape : blur, tail and veil
    lumen_ratio : (N,) inner over outer radius, held
    start : (N, 4) radius, offset, wall and lumen per pixel to start from
    contrast_counts : (N,) weight of the contrast's squares beside the wall's, 0 in the vein

    Notes
    -----
    Gauss-Newton with Levenberg's damping, all pieces at once; the grounds (parabola before
    contrast, line in what it adds) are projected out.
    """
    sight = _sight(profiles, shape, lumen_ratio, contrast_counts)
    values = start.copy()
    state = sight.at(values)
    damping = np.full(len(values), 1e-2)
    moving = np.arange(len(values))
    for _ in range(rounds):
        part, now = sight.part(moving), values[moving]
        wanted = _bounded(now, now + _step(state.part(moving), damping[moving]), part.across_px)
        trial = part.at(wanted)
        better = trial.cost < state.cost[moving]
        moved = np.abs(wanted - now)[:, : OFFSET + 1].max(1)
        values[moving[better]] = wanted[better]
        state.replace(moving[better], trial.part(np.flatnonzero(better)))
        damping[moving] *= np.where(better, 0.2, 10.0)
        settled = (moved < SETTLED_PX) | (damping[moving] > HOPELESS_DAMPING)
        moving = moving[~settled]
        if not moving.size:
            break
    return TubeFits(values=values, wall_cost=state.wall_cost, contrast_cost=state.contrast_cost)


@dataclass(frozen=True, slots=True, kw_only=True)
class _State:
    """Sums of squares (N,), the downhill slope (N, 4) and curvature (N, 4, 4) of their sum."""

    cost: Array
    wall_cost: Array
    contrast_cost: Array
    slope: Array
    curvature: Array

    def part(self, index: npt.NDArray[np.intp]) -> "_State":
        """The state of some pieces."""
        return _State(**{name: getattr(self, name)[index] for name in self.__slots__})

    def replace(self, index: npt.NDArray[np.intp], other: "_State") -> None:
        """Write another state into these rows."""
        for name in self.__slots__:
            getattr(self, name)[index] = getattr(other, name)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ground:
    """Profiles on a ground of low degree that is projected out.

    ``profiles`` and ``ground`` (N, K, M) are weighted; ``solver`` makes the ground's amplitudes.
    """

    profiles: Array
    root: Array
    ground: Array
    solver: Array

    def part(self, index: npt.NDArray[np.intp]) -> "_Ground":
        """Some of the profiles."""
        return _Ground(**{name: getattr(self, name)[index] for name in self.__slots__})

    def products(self, model: Float) -> Array:
        """Products (N, 5, 5) of what is left and of its derivatives, both without the ground."""
        rows = model * self.root
        np.subtract(self.profiles, rows[:, 0], out=rows[:, 0])
        rows -= (rows @ self.solver) @ self.ground
        return np.asarray(rows @ rows.swapaxes(1, 2))


def _ground(profiles: Array, pixels: Array, tilt: Array, degree: int) -> _Ground:
    root = np.sqrt(pixels)[:, None]
    ground = np.stack([tilt**k for k in range(degree + 1)], axis=1) * root
    gram = ground @ ground.swapaxes(1, 2)
    gram += (1e-9 * np.trace(gram, axis1=1, axis2=2) + 1e-12)[:, None, None] * np.eye(degree + 1)
    solver = np.asarray(np.linalg.solve(gram, ground).swapaxes(1, 2), dtype=np.float64)
    return _Ground(profiles=profiles * root[:, 0], root=root, ground=ground, solver=solver)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sight:
    """The pieces, with what stays the same from step to step."""

    across_px: Array
    lumen_ratio: Array
    counts: Array
    walls: _Ground
    contrast: _Ground
    shape: Shape

    def part(self, index: npt.NDArray[np.intp]) -> "_Sight":
        """Some of the pieces."""
        return _Sight(
            across_px=self.across_px[index],
            lumen_ratio=self.lumen_ratio[index],
            counts=self.counts[index],
            walls=self.walls.part(index),
            contrast=self.contrast.part(index),
            shape=self.shape,
        )

    def at(self, values: Array) -> _State:
        """Cost, slope and curvature at (N, 4) values."""
        x = self.across_px - values[:, OFFSET, None]
        empty, full = tube_shadows(x, values, self.lumen_ratio, self.shape)
        full -= empty
        walls, added = self.walls.products(empty), self.contrast.products(full)
        both = walls + self.counts[:, None, None] * added
        return _State(
            cost=both[:, 0, 0],
            wall_cost=walls[:, 0, 0],
            contrast_cost=added[:, 0, 0],
            slope=both[:, 0, 1:],
            curvature=both[:, 1:, 1:],
        )


def _sight(
    profiles: TubeProfiles, shape: Shape, lumen_ratio: Array, contrast_counts: Array
) -> _Sight:
    tilt = profiles.across_px / profiles.across_px.max()
    return _Sight(
        across_px=profiles.across_px,
        lumen_ratio=lumen_ratio,
        counts=contrast_counts,
        walls=_ground(profiles.walls, profiles.wall_pixels, tilt, WALL_GROUND),
        contrast=_ground(profiles.contrast, profiles.contrast_pixels, tilt, CONTRAST_GROUND),
        shape=shape,
    )


def tube_shadows(
    x_px: Array, values: Array, lumen_ratio: Array, shape: Shape
) -> tuple[Float, Float]:
    """The tube's shadow with its lumen empty and filled, each (N, 5, M).

    ``values`` (N, 4) are radius, offset, wall and lumen per pixel. Row 0 is the absorption at
    ``x_px`` (N, M) from the axis, the others its derivatives by radius, by the axis' offset, by
    the wall's absorption a pixel and by the lumen's.
    """
    t, weight = nodes(float(np.max(values[:, RADIUS] / shape.sigma_px)), lumen_ratio)
    inner = 2.0 * np.sqrt(np.maximum(lumen_ratio[:, None] ** 2 - t**2, 0.0))
    outer = 2.0 * np.sqrt(1.0 - t**2) - inner
    radius, wall, lumen = (values[:, k, None] for k in (RADIUS, WALL, LUMEN))
    place = radius * t
    sums = []
    for filling in (np.zeros_like(lumen), lumen):
        chord = wall * outer + filling * inner
        passed = weight * np.exp(-radius * chord)
        lost = weight - passed
        sums += [radius * lost, radius * lost * place, radius * lost * place**2]
        sums += [lost + radius * chord * passed]
        sums += [radius**2 * part * passed for part in (outer, inner)]
    stacked = np.stack(sums, axis=1)
    shade = np.zeros((len(x_px), 2, 5, x_px.shape[1]), np.float32)
    distance, per_radius = x_px.astype(np.float32)[:, None], (1.0 / radius).astype(np.float32)
    for share, width in gaussians(shape.sigma_px, shape.tail, shape.tail_width):
        arriving = share * (1.0 - shape.veil)
        seen = seen_blurred(arriving * stacked, place, x_px, width).reshape(len(x_px), 2, 6, -1)
        total, first, second, own = (seen[:, :, k] for k in range(4))
        shade[:, :, 0] += total
        shade[:, :, 1] += own + (distance * first - second) * per_radius[:, None] / width**2
        shade[:, :, 2] -= (first - distance * total) / width**2
        shade[:, :, 3:] += seen[:, :, 4:]
    shade[:, 0, 4] = 0.0
    through = np.maximum(1.0 - shade[:, :, 0], np.float32(1e-6))
    shade[:, :, 1:] /= through[:, :, None]
    shade[:, :, 0] = -np.log(through)
    return shade[:, 0], shade[:, 1]


def _step(state: _State, damping: Array) -> Array:
    diagonal = np.einsum("nii->ni", state.curvature)
    damped = state.curvature + (diagonal * damping[:, None] + 1e-12)[..., None] * np.eye(4)
    return np.asarray(np.linalg.solve(damped, state.slope[..., None])[..., 0])


def _bounded(values: Array, wanted: Array, across_px: Array) -> Array:
    """The wanted values, no further from the present ones than is sane in one step."""
    bounded = wanted.copy()
    radius = values[:, RADIUS]
    bounded[:, RADIUS] = np.clip(wanted[:, RADIUS], 0.6 * radius, 1.6 * radius)
    bounded[:, RADIUS] = np.clip(bounded[:, RADIUS], SMALLEST_RADIUS_PX, float(across_px.max()))
    reach = 0.5 * radius + 1.0
    bounded[:, OFFSET] = np.clip(
        wanted[:, OFFSET], values[:, OFFSET] - reach, values[:, OFFSET] + reach
    )
    bounded[:, OFFSET] = np.clip(bounded[:, OFFSET], across_px[:, 0], across_px[:, -1])
    for density in (WALL, LUMEN):
        now = values[:, density]
        bounded[:, density] = np.clip(wanted[:, density], 0.2 * now, 4.0 * now + 1e-9)
    return bounded
