"""Landing zones of rendered runs: the coil of a stated risk against the true vein."""

from collections import Counter
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq
from scipy.spatial import cKDTree
from undersize_runs import Kind, Run

from coilwright.planning import probability_undersized
from coilwright.planning.level_calibre import (
    ZoneCalibre,
    calibre_of_zone,
    combined_mm,
    measurement_sd_parts_mm,
)
from coilwright.planning.plan import LevelCalibre
from coilwright.protocol import load_protocol

Array = npt.NDArray[np.float64]

PROTOCOL = load_protocol()
RISKS = (0.02, 0.05, 0.10, 0.20, 0.30)
# The vein's first millimetres lie under the ostium's margin and are never a zone.
FIRST_ZONE_MM = 15.0
ON_TRUNK_MM = 1.5
DRAWS, CHANCE_SEED = 500, 20
DRAWN = ("breathing and Valsalva", "layering of contrast")


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    """One landing zone: true relaxed calibre at its widest, and what the plan takes it for.

    ``share_*`` (one item per risk) say how often the coil of that risk is undersized: by every
    part; by the rendered parts alone; and by these with the widest single sample in place of the
    plan's place. Errors are true over taken less one; ``stated`` its sd, by the rendered parts.
    ``jumps``: the plan says that the calibre jumps there.
    """

    at_mm: float
    error: float
    stated: float
    share_all: Array
    share_rendered: Array
    share_single: Array
    jumps: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A run's zones, and those without an answer, counted by why."""

    run: Run
    zones: tuple[Zone, ...]
    left_out: Counter[str] = field(default_factory=Counter)


def coil_of_risk_mm(risk: float, relaxed_mm: float, sd_mm: float) -> float:
    """The diameter to which the program gives exactly this risk, found by trying."""

    def over(coil_mm: float) -> float:
        return probability_undersized(coil_mm=coil_mm, relaxed_mm=relaxed_mm, sd_mm=sd_mm) - risk

    return float(brentq(over, 1e-3, relaxed_mm + 8 * sd_mm))


def zones_of(run: Run) -> Found:
    """Every landing zone of a run's trunk, end to end, as long as the plan's."""
    left_out: Counter[str] = Counter()
    trunk = None if run.vein_map is None else run.vein_map.trunk
    if run.vein_map is None or trunk is None:
        return Found(run=run, zones=())
    chance = np.random.default_rng([CHANCE_SEED, list(Kind).index(run.kind), run.seed])
    phase = _drawn("phase-relative-sd", chance)
    length_mm = PROTOCOL.limit("landing-zone-length").value
    arc_mm = np.array(trunk.arc_mm)
    away_px, nearest = cKDTree(run.true_points_px).query(np.array(trunk.points_px))
    on_trunk = away_px * run.mm_per_pixel <= ON_TRUNK_MM
    zones = []
    for start_mm in np.arange(arc_mm[0] + FIRST_ZONE_MM, arc_mm[-1] - length_mm, length_mm):
        inside = (arc_mm >= start_mm) & (arc_mm <= start_mm + length_mm)
        calibre = calibre_of_zone(run.vein_map, trunk, start_mm, start_mm + length_mm, PROTOCOL)
        if on_trunk[inside].mean() < 0.5:
            said = " (calibre-jumps is said)" if calibre.jump else ""
            left_out[f"the measured trunk is not the true one there{said}"] += 1
            continue
        if calibre.relaxed is None:
            left_out["the program gives no relaxed calibre"] += 1
            continue
        seen = nearest[inside & on_trunk]
        true_mm = float(run.true_mm[seen.min() : seen.max() + 1].max())
        single = _widest_sample(run, start_mm, start_mm + length_mm, calibre)
        drawn = (1 + phase) * (1 + _drawn("layering-relative-sd", chance))
        zone = _zone(start_mm, true_mm, calibre.relaxed, single, drawn)
        zones.append(replace(zone, jumps=calibre.jump is not None))
    return Found(run=run, zones=tuple(zones), left_out=left_out)


def _zone(
    at_mm: float, true_mm: float, relaxed: LevelCalibre, single: tuple[float, float], drawn: Array
) -> Zone:
    taken_mm = relaxed.diameter_mm
    rendered_mm = combined_mm({k: v for k, v in relaxed.sd_parts_mm.items() if k not in DRAWN})

    def undersized(diameter_mm: float, sd_mm: float, truth: Array) -> Array:
        coils_mm = [coil_of_risk_mm(risk, diameter_mm, sd_mm) for risk in RISKS]
        return np.array([float((truth > coil_mm).mean()) for coil_mm in coils_mm])

    alone = np.array([true_mm])
    return Zone(
        at_mm=at_mm,
        error=true_mm / taken_mm - 1.0,
        stated=rendered_mm / taken_mm,
        share_all=undersized(taken_mm, relaxed.sd_mm, true_mm * drawn),
        share_rendered=undersized(taken_mm, rendered_mm, alone),
        share_single=undersized(*single, alone),
        jumps=False,
    )


def _drawn(limit: str, chance: np.random.Generator) -> Array:
    return chance.normal(0.0, PROTOCOL.limit(limit).value / 100.0, DRAWS)


def _widest_sample(
    run: Run, from_mm: float, to_mm: float, calibre: ZoneCalibre
) -> tuple[float, float]:
    """What the widest single sample would give, or the relaxed calibre of a wider narrowing."""
    assert run.vein_map is not None
    trunk, relaxed = run.vein_map.trunk, calibre.relaxed
    assert trunk is not None
    assert relaxed is not None
    known = [
        (diameter, sd, depth)
        for at, diameter, sd, depth in zip(
            trunk.arc_mm,
            trunk.diameter_mm,
            trunk.diameter_sd_mm,
            trunk.depth_relative_sd,
            strict=True,
        )
        if from_mm <= at <= to_mm and diameter is not None and sd is not None
    ]
    diameter, sd, depth = max(known, key=lambda sample: sample[0])
    for narrowing in calibre.narrowings:
        wide_mm, wide_sd_mm = narrowing.relaxed_diameter_mm, narrowing.relaxed_sd_mm
        if wide_mm is not None and wide_sd_mm is not None and wide_mm > diameter:
            diameter, sd = wide_mm, wide_sd_mm
    parts = measurement_sd_parts_mm(diameter, sd, depth, run.vein_map.calibration, PROTOCOL)
    return diameter, combined_mm(parts)
