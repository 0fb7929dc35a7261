"""Each side has its own limits below its ostium, and a side that nobody stated is not guessed."""

from dataclasses import replace

import pytest

from coilwright.planning import plan_occlusion
from coilwright.planning.ostium_limits import ostium_limits
from coilwright.protocol import Protocol, load_protocol
from coilwright.veins import Side
from planning.straight_trunks import demo_kit, straight_vessel, vein_map_of

PROTOCOL = load_protocol()


def with_right_nearest(value_mm: float) -> Protocol:
    limits = dict(PROTOCOL.limits)
    for end, value in (("min", value_mm), ("max", value_mm + 10)):
        limit_id = f"upper-end-below-cava-ostium-{end}"
        limits[limit_id] = replace(limits[limit_id], value=value)
    return replace(PROTOCOL, limits=limits)


@pytest.mark.parametrize(("side", "nearest_mm"), [(Side.LEFT, 20), (Side.RIGHT, 45), (None, 45)])
def test_the_upper_level_keeps_the_distance_of_its_side(
    side: Side | None, nearest_mm: float
) -> None:
    # Trunk with its ostium at 0 mm: the zone begins the nearest distance below it. Left 20 mm is
    # the package's own (common practice, from memory); the right 45 mm is a site's.
    vein_map = replace(vein_map_of(straight_vessel()), side=side)
    plan = plan_occlusion(vein_map, demo_kit(), with_right_nearest(45))
    upper = plan.levels[-1]
    assert upper.zone.from_mm == pytest.approx(nearest_mm, abs=1.0)


def test_the_words_name_what_the_vein_of_that_side_opens_into() -> None:
    # Left into the renal vein, right into the cava: Gray's anatomy of the gonadal veins.
    assert ostium_limits(Side.LEFT, PROTOCOL).opens_into == "renal vein"
    assert ostium_limits(Side.RIGHT, PROTOCOL).opens_into == "cava"
    right = replace(vein_map_of(straight_vessel()), side=Side.RIGHT)
    said = plan_occlusion(right, demo_kit(), PROTOCOL).advisories
    (text,) = [a.text for a in said if a.rule == "nest-may-reach-ostium"]
    assert "must not project into the cava" in text
