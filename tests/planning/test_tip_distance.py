"""How far the tip is from a zone, on a straight trunk."""

import math
from dataclasses import replace

import pytest

from coilwright.planning import TipDistance, TipMove
from coilwright.planning.landing_zones import Stretch
from coilwright.planning.tip_distance import tip_from_zone
from coilwright.veins import Catheter
from planning.straight_trunks import straight_vessel, vein_map_of

ZONE = Stretch(from_mm=60, to_mm=90)


def tip(tip_mm: float, breathing_mm: float | None = 3.0) -> TipDistance:
    trunk = straight_vessel()
    found = tip_from_zone(vein_map_of(trunk, tip_mm=tip_mm, breathing_mm=breathing_mm), trunk, ZONE)
    assert found is not None
    return found


def test_a_tip_below_the_zone_is_pulled_back() -> None:
    # 50 mm at a scale of 2 % is 1 mm, with 3 mm of breathing the root of 10.
    found = tip(140)
    assert found.move is TipMove.PULL_BACK
    assert found.distance_mm == pytest.approx(50)
    assert found.sd_mm == pytest.approx(math.sqrt(10))
    assert "pull back 50 mm" in found.text


def test_a_tip_above_the_zone_goes_on_with_its_wire_ahead() -> None:
    found = tip(40)
    assert found.move is TipMove.ADVANCE
    assert found.distance_mm == pytest.approx(20)
    assert "with the wire ahead" in found.text


def test_a_tip_in_the_zone_is_there() -> None:
    assert tip(75).move is TipMove.IN_ZONE


def test_unknown_breathing_leaves_the_uncertainty_unknown() -> None:
    found = tip(140, breathing_mm=None)
    assert found.sd_mm is None
    assert "breathing shift not known" in found.text


@pytest.mark.parametrize("in_vessel", [None, "side"])
def test_a_tip_that_is_not_known_to_lie_in_the_trunk_has_no_distance(
    in_vessel: str | None,
) -> None:
    trunk = straight_vessel()
    vein_map = vein_map_of(trunk)
    elsewhere = Catheter(tip_px=vein_map.catheter.tip_px, in_vessel=in_vessel)
    assert tip_from_zone(replace(vein_map, catheter=elsewhere), trunk, ZONE) is None
