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
from coilwright.veins import CalibrationMethod, DiameterMethod, Narrowing, Vessel
from planning.straight_trunks import straight_vessel, vein_map_of

PROTOCOL = load_protocol()
SD_TOLERANCE_MM = 1e-9


def calibre(
    vessel: Vessel,
    *,
    method: CalibrationMethod = CalibrationMethod.CATHETER,
    tolerance: float | None = 0.02,
) -> ZoneCalibre:
    """The zone from 50 to 80 mm; the tube's angles are not on the map."""
    vein_map = vein_map_of(vessel, method=method, tolerance_relative_sd=tolerance)
    return calibre_of_zone(vein_map, vessel, 50.0, 80.0, PROTOCOL)


def narrowing(relaxed_mm: float | None, sd_mm: float | None = 0.5) -> Narrowing:
    return Narrowing(from_mm=60, to_mm=70, relaxed_diameter_mm=relaxed_mm, relaxed_sd_mm=sd_mm)


def test_the_uncertainties_add_as_squares() -> None:
    # By hand for 6 mm: fit and scale 0.15; depth as the map states it, 5 % 0.30; catheter 2 % 0.12:
    # 0.0225 + 0.09 + 0.0144 = 0.1269. Relaxed: depth by the local limit, which is wider, 6 % 0.36;
    # breathing 6 % 0.36; layering 3 % 0.18: 0.0225 + 0.1296 + 0.0144 + 0.1296 + 0.0324 = 0.3285.
    found = calibre(straight_vessel(diameter_mm=6.0, sd_mm=0.15, depth_relative_sd=0.05))
    assert found.relaxed is not None
    assert found.measured is not None
    assert found.relaxed.sd_mm == pytest.approx(math.sqrt(0.3285), abs=SD_TOLERANCE_MM)
    assert found.measured.sd_mm == pytest.approx(math.sqrt(0.1269), abs=SD_TOLERANCE_MM)


def test_more_samples_do_not_make_the_calibre_surer() -> None:
    vessel = straight_vessel()
    vein_map = vein_map_of(vessel)
    sds_mm = [
        found.relaxed.sd_mm
        for to_mm in (51.0, 80.0, 150.0)
        if (found := calibre_of_zone(vein_map, vessel, 50.0, to_mm, PROTOCOL)).relaxed
    ]
    assert len(sds_mm) == 3
    assert sds_mm == pytest.approx([sds_mm[0]] * 3, abs=SD_TOLERANCE_MM)


def with_calibre(
    vessel: Vessel, arcs_mm: tuple[float, float], diameter_mm: float, sd_mm: float
) -> Vessel:
    """The vessel with another calibre between two arcs, both included."""
    inside = [arcs_mm[0] <= at_mm <= arcs_mm[1] for at_mm in vessel.arc_mm]

    def put(values: tuple[float | None, ...], value: float) -> tuple[float | None, ...]:
        return tuple(value if new else old for old, new in zip(values, inside, strict=True))

    return replace(
        vessel,
        diameter_mm=put(vessel.diameter_mm, diameter_mm),
        diameter_sd_mm=put(vessel.diameter_sd_mm, sd_mm),
    )


def test_the_widest_place_of_the_zone_counts() -> None:
    wide = with_calibre(straight_vessel(diameter_mm=5.0), (62.5, 67.5), 6.2, 0.15)
    found = calibre(wide)
    assert found.relaxed is not None
    assert found.relaxed.diameter_mm == 6.2


def test_one_wide_sample_is_not_a_place() -> None:
    # By hand: samples are 0.5 mm apart, so 5 mm hold 11, all as well known: 5 + 1.2 / 11.
    found = calibre(with_calibre(straight_vessel(diameter_mm=5.0), (65.0, 65.0), 6.2, 0.15))
    assert found.relaxed is not None
    assert found.relaxed.diameter_mm == pytest.approx(5.0 + 1.2 / 11)


def test_a_poorly_known_sample_pulls_little_and_its_place_is_less_sure() -> None:
    # By hand: sd 0.6 against 0.15 weighs 1/16, so 5 + 1.2 * (1/16) / (10 + 1/16) = 5 + 1.2 / 161.
    # Fit and scale: the same mean of the sds, (10 * 0.15 + 0.6 / 16) / (10 + 1/16) = 0.15280.
    found = calibre(with_calibre(straight_vessel(diameter_mm=5.0), (65.0, 65.0), 6.2, 0.6))
    assert found.relaxed is not None
    assert found.relaxed.diameter_mm == pytest.approx(5.0 + 1.2 / 161)
    assert found.relaxed.sd_parts_mm["fit and scale"] == pytest.approx(24.6 / 161)


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
    assert set(found.assumptions[1:]) == {DEPTH_ASSUMED, TOLERANCE_ASSUMED}
    assert "which way the scale errs by that is not known" in found.assumptions[0]
    assert found.relaxed is not None
    # Local limits: depth 6 % and tolerance 2 % of 6 mm.
    assert found.relaxed.sd_parts_mm["depth"] == pytest.approx(0.36)
    assert found.relaxed.sd_parts_mm["catheter tolerance"] == pytest.approx(0.12)


def test_without_a_catheter_in_the_scale_its_tolerance_does_not_count() -> None:
    found = calibre(straight_vessel(), method=CalibrationMethod.RULER, tolerance=None)
    assert found.relaxed is not None
    assert found.relaxed.sd_parts_mm["catheter tolerance"] == 0.0
    assert TOLERANCE_ASSUMED not in found.assumptions


def test_a_calibre_stated_by_hand_has_no_scale_behind_it() -> None:
    # By hand for 6 mm: as stated 0.15; breathing 6 % 0.36; layering 3 % 0.18. Root of 0.0225 +
    # 0.1296 + 0.0324 = 0.1845. The map states neither depth nor tolerance, and needs neither.
    stated = straight_vessel(method=DiameterMethod.GIVEN, depth_relative_sd=None)
    found = calibre(stated, tolerance=None)
    assert found.measured is not None
    assert found.measured.sd_mm == pytest.approx(0.15, abs=SD_TOLERANCE_MM)
    assert found.relaxed is not None
    assert found.relaxed.diameter_mm == 6.0
    assert found.relaxed.sd_mm == pytest.approx(math.sqrt(0.1845), abs=SD_TOLERANCE_MM)
    assert found.relaxed.where_from == "as stated by hand, at the widest place of the zone"
    assert found.assumptions == ()


@pytest.mark.parametrize(
    ("depth_relative_sd", "measured_mm", "relaxed_mm"),
    # By hand for 6 mm, the header's scale being unsure by 5 % for depth alone. Measured: 4 % are
    # within that; of 13 %, the root of 13^2 - 5^2 = 12 % is more. Relaxed: at least the local limit
    # of 6 % in all, so the root of 36 - 25 = 3.3166 %.
    [(0.04, 0.0, 0.06 * math.sqrt(11)), (0.13, 0.72, 0.72)],
)
def test_the_header_s_scale_does_not_count_depth_twice(
    depth_relative_sd: float, measured_mm: float, relaxed_mm: float
) -> None:
    vessel = straight_vessel(depth_relative_sd=depth_relative_sd)
    vein_map = vein_map_of(
        vessel, method=CalibrationMethod.HEADER_GEOMETRY, tolerance_relative_sd=None
    )
    header = replace(vein_map.calibration, relative_sd=0.05)
    vein_map = replace(vein_map, calibration=header)
    found = calibre_of_zone(vein_map, vessel, 50.0, 80.0, PROTOCOL)
    assert found.measured is not None
    assert found.relaxed is not None
    assert found.measured.sd_parts_mm["depth"] == pytest.approx(measured_mm, abs=SD_TOLERANCE_MM)
    assert found.relaxed.sd_parts_mm["depth"] == pytest.approx(relaxed_mm, abs=SD_TOLERANCE_MM)
