"""Marks carried onto the vein: arcs and distances measured by hand on simple courses."""

import math
from dataclasses import replace

import pytest

from coilwright.planning.trunk_course import point_at, project_onto
from planning.straight_trunks import MM_PER_PIXEL, X_PX, straight_vessel, y_px

ARC_TOLERANCE_MM = 1e-6


def test_a_mark_beside_a_straight_vein_is_carried_across() -> None:
    mark = (X_PX + 16.0, y_px(120.2))
    found = project_onto(straight_vessel(), mark, mm_per_pixel=MM_PER_PIXEL)
    assert found.arc_mm == pytest.approx(120.2, abs=ARC_TOLERANCE_MM)
    assert found.off_mm == pytest.approx(8.0, abs=ARC_TOLERANCE_MM)  # 16 px at 0.5 mm


def test_a_mark_past_either_end_gets_an_arc_past_that_end() -> None:
    vein = straight_vessel(length_mm=100)
    below = project_onto(vein, (X_PX + 8, y_px(130)), mm_per_pixel=MM_PER_PIXEL)
    above = project_onto(vein, (X_PX, y_px(-12)), mm_per_pixel=MM_PER_PIXEL)
    assert (below.arc_mm, below.off_mm) == pytest.approx((130, 4), abs=ARC_TOLERANCE_MM)
    assert below.past_end
    assert above.arc_mm == pytest.approx(-12, abs=ARC_TOLERANCE_MM)
    assert above.past_start


def test_on_a_bend_the_nearest_place_counts() -> None:
    # Down 10 px, then right 10 px: the mark (10, 12) lies 2 px below the end of the second leg.
    bent = replace(
        straight_vessel(length_mm=1),
        points_px=((0.0, 0.0), (0.0, 10.0), (10.0, 10.0)),
        arc_mm=(0.0, 5.0, 10.0),
    )
    inner = project_onto(bent, (6.0, 12.0), mm_per_pixel=MM_PER_PIXEL)
    assert (inner.arc_mm, inner.off_mm) == pytest.approx((8.0, 1.0), abs=ARC_TOLERANCE_MM)
    assert point_at(bent, 7.5) == pytest.approx((5.0, 10.0))


def test_a_single_point_is_its_own_nearest_place() -> None:
    one = straight_vessel(length_mm=0)
    found = project_onto(one, (X_PX + 3, y_px(0) + 4), mm_per_pixel=MM_PER_PIXEL)
    assert found.arc_mm == 0.0
    assert found.off_mm == pytest.approx(math.hypot(3, 4) * MM_PER_PIXEL)
