"""Calibre along a course: blurred cylinders fitted to windows of neighbouring profiles."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from coilwright.venogram.blurred_cylinder import Shape, shadow

Array = npt.NDArray[np.float64]

ITERATIONS = 25
# A profile is done when its axis and radius move less than this, or nothing improves it.
SETTLED_PX = 2e-3
HOPELESS_DAMPING = 1e3
SMALLEST_RADIUS_PX = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderFits:
    """One fit per profile, each array (N,); ``cost`` is the weighted sum of squares left over.

    ``opacity_per_px`` is the absorption of one pixel of contrast; ``radius_sd_px`` comes from the
    residuals alone; ``residual_sd`` is that of a point of weight one, ``pixels`` the mean weight.
    """

    radius_px: Array
    radius_sd_px: Array
    offset_px: Array
    opacity_per_px: Array
    residual_sd: Array
    cost: Array
    pixels: Array

    def part(self, index: npt.NDArray[np.intp]) -> "CylinderFits":
        """The fits of some profiles."""
        return CylinderFits(**{name: getattr(self, name)[index] for name in self.__slots__})

    def values(self) -> Array:
        """What was fitted: radius, offset, density (N, 3)."""
        return np.column_stack([self.radius_px, self.offset_px, self.opacity_per_px])

    @property
    def peak_opacity(self) -> Array:
        """Absorption along the ray through the axis."""
        return 2.0 * self.radius_px * self.opacity_per_px


def fit_cylinders(
    profiles: Array,
    across_px: Array,
    weights: Array,
    shape: Shape,
    start_radius_px: Array,
    nuisance: Array | None = None,
    near: CylinderFits | None = None,
    rounds: int = ITERATIONS,
) -> CylinderFits:
    """Fit a blurred cylinder on a sloping background to each profile.

    Parameters
    ----------
    profiles : (N, M) absorption
    across_px : (M,), or (N, M) where each profile has its own, distances from the course
    weights : (N, M), 0 where a point must not count
    shape : what is fitted
    start_radius_px : (N,)
    nuisance : (N, M) or None, a further shape of unknown amplitude (a catheter in the vein)
    near : the fits of the same profiles under a shape that differs little, to start from
    rounds : the most steps that are made

    Notes
    -----
    Gauss-Newton with Levenberg's damping on radius, offset and density, all profiles at once; the
    linear background is solved for at every step.
    """
    across = np.broadcast_to(across_px, profiles.shape)
    problem = _problem(profiles, across, weights, shape, nuisance)
    values = _start(problem, start_radius_px) if near is None else near.values()
    state = problem.evaluate(values)
    damping = np.full(len(profiles), 1e-2)
    moving = np.arange(len(profiles))
    for _ in range(rounds):
        part, here = problem.part(moving), state.part(moving)
        wanted = part.bounded(values[moving], values[moving] + _step(here, damping[moving]))
        trial = part.evaluate(wanted)
        better = trial.cost < here.cost
        moved = np.abs(wanted - values[moving])[:, :2].max(1)
        values[moving[better]] = wanted[better]
        state.replace(moving[better], trial, better)
        damping[moving] *= np.where(better, 0.2, 10.0)
        settled = (moved < SETTLED_PX) | (damping[moving] > HOPELESS_DAMPING)
        moving = moving[~settled]
        if not moving.size:
            break
    return _result(state, values, weights)


RADIUS, OFFSET, DENSITY = 0, 1, 2


@dataclass(frozen=True, slots=True, kw_only=True)
class _State:
    """Sum of squares (N,), its downhill slope (N, 3) and curvature (N, 3, 3), both halved."""

    cost: Array
    slope: Array
    curvature: Array

    def part(self, index: npt.NDArray[np.intp]) -> "_State":
        """The state of some profiles."""
        return _State(
            cost=self.cost[index], slope=self.slope[index], curvature=self.curvature[index]
        )

    def replace(
        self, index: npt.NDArray[np.intp], other: "_State", where: npt.NDArray[np.bool_]
    ) -> None:
        """Write the marked rows of another state into these rows."""
        self.cost[index] = other.cost[where]
        self.slope[index] = other.slope[where]
        self.curvature[index] = other.curvature[where]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Problem:
    """The profiles and what is fitted to them; values are (N, 3): radius, offset, density.

    ``ground`` (N, K, M) is the weighted background, ``solver`` what makes its amplitudes of a
    weighted profile.
    """

    profiles: Array
    across_px: Array
    root: Array
    ground: Array
    solver: Array
    shape: Shape

    def part(self, index: npt.NDArray[np.intp]) -> "_Problem":
        """The problem of some profiles."""
        return _Problem(
            profiles=self.profiles[index],
            across_px=self.across_px[index],
            root=self.root[index],
            ground=self.ground[index],
            solver=self.solver[index],
            shape=self.shape.part(index),
        )

    def bounded(self, values: Array, wanted: Array) -> Array:
        """The wanted values, no further from the present ones than is sane in one step."""
        radius = values[:, RADIUS]
        reach = 0.5 * radius + 1.0
        bounded = wanted.copy()
        bounded[:, RADIUS] = np.clip(wanted[:, RADIUS], 0.6 * radius, 1.6 * radius)
        bounded[:, RADIUS] = np.clip(
            bounded[:, RADIUS], SMALLEST_RADIUS_PX, float(np.ptp(self.across_px[:1]))
        )
        offset = np.clip(wanted[:, OFFSET], values[:, OFFSET] - reach, values[:, OFFSET] + reach)
        bounded[:, OFFSET] = np.clip(offset, self.across_px[:, 0], self.across_px[:, -1])
        density = values[:, DENSITY]
        bounded[:, DENSITY] = np.clip(wanted[:, DENSITY], 0.2 * density, 4.0 * density + 1e-9)
        return bounded

    def evaluate(self, values: Array) -> _State:
        """Solve the linear part (background), and project it out of the derivatives."""
        cast = shadow(
            self.across_px - values[:, OFFSET, None],
            values[:, RADIUS],
            values[:, DENSITY],
            self.shape.sigma_px,
            lumen_ratio=self.shape.lumen_ratio,
            veil=self.shape.veil,
            tail=self.shape.tail,
            tail_width=self.shape.tail_width,
        )
        target = self.profiles - cast.absorption
        rows = np.stack([target, cast.by_radius, -cast.by_x, cast.by_density], axis=1)
        rows *= self.root[:, None]
        left = rows - (rows @ self.solver) @ self.ground
        products = left @ left.swapaxes(1, 2)
        return _State(
            cost=products[:, 0, 0], slope=products[:, 0, 1:], curvature=products[:, 1:, 1:]
        )


def _problem(
    profiles: Array, across_px: Array, weights: Array, shape: Shape, nuisance: Array | None
) -> _Problem:
    """What stays the same from step to step, worked out once."""
    root = np.sqrt(weights)
    tilt = across_px / across_px.max()
    columns = [tilt**k for k in range(shape.background_degree + 1)]
    if nuisance is not None:
        columns.append(nuisance)
    ground = np.stack(columns, axis=1) * root[:, None]
    gram = ground @ ground.swapaxes(1, 2)
    # A profile that other vessels cover whole has no weight at all; its ground stays nought.
    ridge = 1e-9 * np.trace(gram, axis1=1, axis2=2) + np.finfo(np.float64).tiny
    gram += ridge[:, None, None] * np.eye(len(columns))
    solver = np.linalg.solve(gram, ground).swapaxes(1, 2)
    return _Problem(
        profiles=profiles,
        across_px=across_px,
        root=root,
        ground=ground,
        solver=solver,
        shape=shape,
    )


def _start(problem: _Problem, start_radius_px: Array) -> Array:
    """Start values: the given radius, no offset, the density that the middle shows."""
    radius = np.maximum(start_radius_px.astype(np.float64), 1.0)
    inner = np.abs(problem.across_px) <= 0.5 * radius[:, None] + 0.5
    outer = (np.abs(problem.across_px) > 1.1 * radius[:, None]) & (problem.root > 0)
    middle = (problem.profiles * inner).sum(1) / inner.sum(1)
    beside = (problem.profiles * outer).sum(1) / np.maximum(outer.sum(1), 1)
    wall = 2.0 * radius * max(1.0 - problem.shape.lumen_ratio, 0.2)
    density = np.maximum(middle - beside, 1e-4) / wall
    return np.column_stack([radius, np.zeros_like(radius), density])


def _step(state: _State, damping: Array) -> Array:
    """(N, 3): steps of radius, offset and density."""
    diagonal = np.einsum("nii->ni", state.curvature)
    damped = state.curvature + (diagonal * damping[:, None] + 1e-15)[..., None] * np.eye(3)
    return np.asarray(np.linalg.solve(damped, state.slope[..., None])[..., 0])


def _result(state: _State, values: Array, weights: Array) -> CylinderFits:
    freedom = np.maximum((weights > 0).sum(1) - 6.0, 1.0)
    variance = state.cost / freedom
    diagonal = np.einsum("nii->ni", state.curvature)
    curvature = state.curvature + (1e-9 * diagonal + 1e-18)[..., None] * np.eye(3)
    spread = np.einsum("nii->ni", np.linalg.inv(curvature)) * variance[:, None]
    # What nothing was weighed for is not known, however well nothing is fitted.
    spread[~(weights > 0).any(1)] = np.inf
    return CylinderFits(
        radius_px=values[:, RADIUS],
        radius_sd_px=np.sqrt(np.maximum(spread[:, RADIUS], 0.0)),
        offset_px=values[:, OFFSET],
        opacity_per_px=values[:, DENSITY],
        residual_sd=np.sqrt(variance),
        cost=state.cost,
        pixels=weights.mean(1),
    )
