"""The calibre that coils are sized to, and the sum of its uncertainties."""

import math
from dataclasses import replace

import pytest

from coilwright.planning.level_calibre import (
    DEPTH_ASSUMED,
    TOLERANCE_ASSUMED,
    ZoneCalibre,
    calibre_of_zone,
)
from coilwright.protocol import load_protocol
from coilwright.veins import CalibrationMethod, Narrowing, Vessel
from planning.straight_trunks import straight_vessel, vein_map_of

PROTOCOL = load_protocol()
SD_TOLERANCE_MM = 1e-9


def calibre(
    vessel: Vessel,
    *,
    method: CalibrationMethod = CalibrationMethod.CATHETER,
    tolerance: float | None = 0.02,
) -> ZoneCalibre:
    vein_map = vein_map_of(vessel, method=method, tolerance_relative_sd=tolerance)
    return calibre_of_zone(vessel, 50.0, 80.0, vein_map.calibration, PROTOCOL)


def narrowing(relaxed_mm: float | None, sd_mm: float | None = 0.5) -> Narrowing:
    return Narrowing(from_mm=60, to_mm=70, relaxed_diameter_mm=relaxed_mm, relaxed_sd_mm=sd_mm)


def test_the_uncertainties_add_as_squares() -> None:
    # By hand for 6 mm: fit and scale 0.15; depth 5 % 0.30; tolerance 2 % 0.12; breathing 6 %
    # 0.36; layering 3 % 0.18. Root of 0.0225 + 0.09 + 0.0144 + 0.1296 + 0.0324 = 0.53749.
    found = calibre(straight_vessel(diameter_mm=6.0, sd_mm=0.15, depth_relative_sd=0.05))
    assert found.relaxed is not None
    assert found.measured is not None
    assert found.relaxed.sd_mm == pytest.approx(math.sqrt(0.2889), abs=SD_TOLERANCE_MM)
    assert found.measured.sd_mm == pytest.approx(math.sqrt(0.1269), abs=SD_TOLERANCE_MM)


def test_more_samples_do_not_make_the_calibre_surer() -> None:
    vessel = straight_vessel()
    calibration = vein_map_of(vessel).calibration
    sds_mm = [
        found.relaxed.sd_mm
        for to_mm in (51.0, 80.0, 150.0)
        if (found := calibre_of_zone(vessel, 50.0, to_mm, calibration, PROTOCOL)).relaxed
    ]
    assert len(sds_mm) == 3
    assert sds_mm == pytest.approx([sds_mm[0]] * 3, abs=SD_TOLERANCE_MM)


def test_the_widest_place_of_the_zone_counts() -> None:
    vessel = straight_vessel(diameter_mm=5.0)
    diameters = list(vessel.diameter_mm)
    diameters[130] = 6.2  # at 65 mm
    found = calibre(replace(vessel, diameter_mm=tuple(diameters)))
    assert found.relaxed is not None
    assert found.relaxed.diameter_mm == 6.2


def test_a_narrowing_s_relaxed_calibre_replaces_what_was_seen() -> None:
    narrow = straight_vessel(diameter_mm=4.3, narrowings=(narrowing(6.0),), narrowed_to_mm=4.1)
    found = calibre(narrow)
    assert found.relaxed is not None
    assert found.relaxed.diameter_mm == 6.0
    assert "narrowing at 60 to 70 mm" in found.relaxed.where_from
    assert found.relaxed.sd_parts_mm["fit and scale"] == 0.5


@pytest.mark.parametrize("unknown", [narrowing(None, None), narrowing(6.0, None)])
def test_an_unknown_relaxed_calibre_is_never_replaced_by_the_measured_one(
    unknown: Narrowing,
) -> None:
    found = calibre(straight_vessel(narrowings=(unknown,), narrowed_to_mm=4.1))
    assert found.measured is not None
    assert found.relaxed is None


def test_a_zone_that_is_mostly_unmeasured_has_no_calibre_to_size_to() -> None:
    vessel = straight_vessel()
    gappy = replace(
        vessel,
        diameter_mm=tuple(d if i % 3 == 0 else None for i, d in enumerate(vessel.diameter_mm)),
    )
    found = calibre(gappy)
    assert found.known_share == pytest.approx(1 / 3, abs=0.02)
    assert found.measured is not None
    assert found.relaxed is None


def test_a_diameter_without_its_uncertainty_is_not_used() -> None:
    found = calibre(straight_vessel(sd_mm=None))
    assert found.measured is None
    assert found.relaxed is None


def test_an_unstated_depth_or_tolerance_is_assumed_aloud() -> None:
    found = calibre(straight_vessel(depth_relative_sd=None), tolerance=None)
    assert set(found.assumptions) == {DEPTH_ASSUMED, TOLERANCE_ASSUMED}
    assert found.relaxed is not None
    # Local limits: depth 6 % and tolerance 2 % of 6 mm.
    assert found.relaxed.sd_parts_mm["depth"] == pytest.approx(0.36)
    assert found.relaxed.sd_parts_mm["catheter tolerance"] == pytest.approx(0.12)


def test_without_a_catheter_in_the_scale_its_tolerance_does_not_count() -> None:
    found = calibre(straight_vessel(), method=CalibrationMethod.RULER, tolerance=None)
    assert found.relaxed is not None
    assert found.relaxed.sd_parts_mm["catheter tolerance"] == 0.0
    assert found.assumptions == ()
