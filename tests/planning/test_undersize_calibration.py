"""The undersize probability against veins whose true calibre is known.

The drawn maps err by what they and the local limits state; one rendered run stands for the many of
`benchmarks/undersize.py`.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from scipy.spatial import cKDTree
from scipy.stats import binom

from coilwright.phantom import Level, random_scene, render, write_run
from coilwright.planning.level_calibre import calibre_of_zone
from coilwright.protocol import load_protocol
from coilwright.veins import RunPlace, VeinMap
from coilwright.venogram import ScaleChoice, measure_run, read_run
from planning.straight_trunks import straight_vessel, vein_map_of

PROTOCOL = load_protocol()
MAPS = 2000
ZONE_MM = 30.0
# Upper tenth and twentieth of the normal distribution (any statistics handbook); that the program
# gives these risks there, tests/planning/test_undersize.py.
Z_OF_RISK = {0.10: 1.2816, 0.05: 1.6449}
SCALE_SD, TOLERANCE_SD = 0.012, 0.02
# What the map states of depth at its catheter, and what the local limit makes of it where nobody
# knows which way depth errs.
NEAR_SD, EITHER_WAY_SD = 0.025, 0.06
# The vein comes forward by so much of its distance from the source: practitioner's review.
FORWARD = (0.04, 0.08)
# A clean fit, and one beside the mouth of another vein; about those of rendered maps.
FIT_SD, MOUTH_FIT_SD = 0.01, 0.08
FITS_ALIKE_MM = 3.0
SEED = 1

Array = npt.NDArray[np.float64]


@pytest.mark.parametrize("forward", [False, True], ids=["either way", "forward"])
def test_of_coils_given_a_risk_that_share_is_undersized(forward: bool) -> None:
    # Two-sided 99.9 % of the binomial distribution about each risk. The widest single sample in
    # place of the widest place gives half of the risk, and fails.
    chance = np.random.default_rng(SEED)
    undersized = dict.fromkeys(Z_OF_RISK, 0)
    for _ in range(MAPS):
        vein_map, true_mm = drawn_map(chance, forward=forward)
        relaxed = calibre_of_zone(vein_map, vein_map.vessels[0], 0.0, ZONE_MM, PROTOCOL).relaxed
        assert relaxed is not None
        for risk, z in Z_OF_RISK.items():
            undersized[risk] += true_mm > relaxed.diameter_mm + z * relaxed.sd_mm
    for risk, count in undersized.items():
        least, most = binom.interval(0.999, MAPS, risk)
        assert least <= count <= most


def drawn_map(chance: np.random.Generator, *, forward: bool) -> tuple[VeinMap, float]:
    """A map with errors as it states them, and the true relaxed calibre at its widest.

    ``forward``: the zone is the whole vein, scale at its top, and comes forward all the way, seen
    from back to front; else nobody knows which way depth errs.
    """
    blank = straight_vessel(length_mm=ZONE_MM)
    arc_mm = np.array(blank.arc_mm)
    taper = 1.0 + chance.uniform(-0.1, 0.1) * arc_mm / ZONE_MM
    wave = chance.uniform(0.0, 0.02) * np.sin(2 * np.pi * (arc_mm / 60.0 + chance.uniform()))
    true_mm = chance.uniform(3.5, 7.0) * (taper + wave)
    fit_sd = np.full(len(arc_mm), FIT_SD)
    fit_sd[np.abs(arc_mm - chance.uniform(0.0, ZONE_MM)) < 2.0] = MOUTH_FIT_SD
    depth_sd = NEAR_SD if forward else EITHER_WAY_SD
    common = sum(chance.normal(0.0, sd) for sd in (SCALE_SD, TOLERANCE_SD, depth_sd))
    ahead = chance.uniform(*FORWARD) * arc_mm / ZONE_MM if forward else np.zeros(len(arc_mm))
    seen_mm = true_mm * (1.0 + common + fit_sd * alike(arc_mm, chance)) / (1.0 + ahead)
    vessel = replace(
        blank,
        diameter_mm=tuple(seen_mm.tolist()),
        diameter_sd_mm=tuple((seen_mm * np.hypot(fit_sd, SCALE_SD)).tolist()),
        depth_relative_sd=(NEAR_SD,) * len(arc_mm),
    )
    at_rest = 1.0 + sum(
        chance.normal(0.0, PROTOCOL.limit(limit).value / 100.0)
        for limit in ("phase-relative-sd", "layering-relative-sd")
    )
    vein_map = vein_map_of(vessel, tolerance_relative_sd=TOLERANCE_SD, tip_mm=0.0, floor_mm=ZONE_MM)
    if forward:
        straight = RunPlace(primary_angle_deg=0.0, secondary_angle_deg=0.0)
        vein_map = replace(vein_map, runs=(replace(vein_map.runs[0], place=straight),))
    return vein_map, float(true_mm.max()) * at_rest


def alike(arc_mm: Array, chance: np.random.Generator) -> Array:
    """Errors (N,) of sd one that neighbouring fits share, as they share pixels."""
    likeness = np.exp(-0.5 * ((arc_mm[:, None] - arc_mm) / FITS_ALIKE_MM) ** 2)
    return chance.multivariate_normal(np.zeros(len(arc_mm)), likeness, method="eigh")


def test_a_rendered_vein_lies_within_three_stated_deviations_of_what_its_zones_are_sized_to(
    tmp_path: Path,
) -> None:
    rendered = render(random_scene(9001, Level.STILL))
    write_run(rendered, tmp_path / "run.dcm")
    choice = ScaleChoice(catheter_fr=rendered.truth.catheter.size_fr)
    vein_map = measure_run(read_run(tmp_path / "run.dcm"), choice).vein_map
    trunk, true_trunk = vein_map.trunk, rendered.truth.trunk
    assert trunk is not None
    assert true_trunk.narrowing is None
    arc_mm, true_mm = np.array(trunk.arc_mm), np.array(true_trunk.diameter_mm)
    _, nearest = cKDTree(np.array(true_trunk.points_px)).query(np.array(trunk.points_px))
    starts_mm = np.arange(15.0, trunk.length_mm - ZONE_MM, ZONE_MM)
    assert len(starts_mm) >= 3
    for start_mm in starts_mm:
        end_mm = start_mm + ZONE_MM
        found = calibre_of_zone(vein_map, trunk, start_mm, end_mm, PROTOCOL).measured
        assert found is not None
        seen = nearest[(arc_mm >= start_mm) & (arc_mm <= end_mm)]
        widest_mm = float(true_mm[seen.min() : seen.max() + 1].max())
        # Fit, scale, depth and tolerance alone: what breathing adds cannot cover an error here.
        assert abs(widest_mm - found.diameter_mm) < 3.0 * found.sd_mm
