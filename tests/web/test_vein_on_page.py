"""The vein as the page draws and words it, from straight vessels worked by hand."""

import datetime as dt
from dataclasses import replace

import pytest

from coilwright.planning import plan_occlusion
from coilwright.protocol import load_protocol
from coilwright.web.picture_overlay import Overlay, picture_overlay
from coilwright.web.straightened_drawing import straightened_drawing, vein_axis
from coilwright.web.trunk_trace import trunk_trace
from planning.straight_trunks import (
    X_PX,
    demo_kit,
    mark_at,
    side_vein,
    straight_vessel,
    vein_map_of,
    without_landmarks,
    y_px,
)

ON = dt.date(2026, 3, 12)


def overlay() -> Overlay:
    vein_map = vein_map_of(straight_vessel(), side_vein("side-vein-1", at_mm=60.0))
    return picture_overlay(vein_map, plan_occlusion(vein_map, demo_kit(), load_protocol(), on=ON))


def test_words_along_the_vein_are_told_from_the_ostium() -> None:
    # Samples every 0.5 mm, ostium 20 mm below the first: item 50 of the trace lies 30 mm on.
    trace = trunk_trace(vein_map_of(straight_vessel(), ostium_mm=20.0))
    assert trace is not None
    assert trace.arc_mm[50] == 50.0
    assert trace.points_px[50] == (X_PX, y_px(50.0))
    # sd 0.15 is said with two figures or one, never as 0.
    assert trace.words[50].startswith("30 mm from the ostium: 6.0 ± 0.")


def test_without_an_ostium_the_words_say_what_they_are_told_from() -> None:
    trace = trunk_trace(without_landmarks(vein_map_of(straight_vessel())))
    assert trace is not None
    assert trace.words[0].startswith("0 mm from the highest point seen (ostium not shown)")


def test_a_calibre_that_was_not_measured_is_said_in_words() -> None:
    trace = trunk_trace(vein_map_of(straight_vessel(diameter_mm=None, sd_mm=None)))
    assert trace is not None
    assert {words.partition(": ")[2] for words in trace.words} == {"not measured"}


def test_no_main_vein_gives_no_trace_and_no_axis() -> None:
    vein_map = vein_map_of(side_vein("side-vein-1", at_mm=60.0))
    assert trunk_trace(vein_map) is None
    assert vein_axis(vein_map) is None


def test_one_calibre_is_one_line_of_one_colour_from_end_to_end() -> None:
    side, trunk = overlay().vessels
    assert (side.kind, trunk.kind) == ("side-vein", "trunk")
    (stretch,) = trunk.stretches
    # 401 samples from y 50 to y 450 (200 mm at 0.5 mm per pixel).
    points = stretch.points.split(" ")
    assert (len(points), points[0], points[-1]) == (401, "300.0,50.0", "300.0,450.0")
    assert stretch.colour.startswith("#")


def test_neighbouring_calibres_meet_without_a_gap_and_unknown_ones_are_not_coloured() -> None:
    vessel = straight_vessel(length_mm=10.0)
    widths = (3.0,) * 7 + (None,) * 7 + (6.0,) * 7
    vein_map = vein_map_of(replace(vessel, diameter_mm=widths))
    plan = plan_occlusion(vein_map, demo_kit(), load_protocol(), on=ON)
    (drawn,) = picture_overlay(vein_map, plan).vessels
    first, unknown, last = drawn.stretches
    assert unknown.colour == "unknown"
    assert first.colour != last.colour
    assert first.points.split(" ")[-1] == unknown.points.split(" ")[0]
    assert unknown.points.split(" ")[-1] == last.points.split(" ")[0]


def test_levels_stand_beside_the_vein_in_their_order_distal_one_first() -> None:
    zones = overlay().zones
    # The map's duplicate runs past the distal zone: a middle level lies between the two.
    assert [zone.step for zone in zones] == ["1", "2", "3"]
    distal, middle, upper = zones
    assert distal.badge_px[1] > middle.badge_px[1] > upper.badge_px[1]
    # The far level is placed first and lies lower in the picture (y grows towards the feet).
    assert distal.badge_px[1] > upper.badge_px[1]
    assert all(zone.badge_px[0] < X_PX for zone in zones)


def test_the_operators_marks_are_drawn_where_they_were_set() -> None:
    marks = {mark.name: mark.at_px for mark in overlay().marks}
    assert marks == {"ostium": mark_at(0.0).point_px, "pubic ramus": mark_at(190.0).point_px}


def test_the_legend_has_each_whole_millimetre_in_a_colour_of_its_own() -> None:
    # Half of the samples 3 mm, half 6 mm wide: the scale holds both ends in whole millimetres.
    vessel = straight_vessel(length_mm=10.0)
    widths = (3.0,) * 10 + (6.0,) * 11
    vein_map = vein_map_of(replace(vessel, diameter_mm=widths))
    plan = plan_occlusion(vein_map, demo_kit(), load_protocol(), on=ON)
    legend = picture_overlay(vein_map, plan).legend
    assert [step.label for step in legend] == ["3", "4", "5", "6"]
    assert len({step.colour for step in legend}) == len(legend)


def test_the_axis_says_where_the_drawing_puts_each_distance() -> None:
    # The axis must agree with the drawing itself: tick lines of its scale stand 20 mm apart.
    vein_map = vein_map_of(straight_vessel())
    axis = vein_axis(vein_map)
    assert axis is not None
    per_mm = (axis.x[1] - axis.x[0]) / (axis.arc_mm[1] - axis.arc_mm[0])
    svg = straightened_drawing(vein_map, plan_occlusion(vein_map, demo_kit(), load_protocol()))
    at_100_mm = axis.x[0] + (100.0 - axis.arc_mm[0]) * per_mm
    words = f'x="{at_100_mm:g}"'
    label = next(part for part in svg.split("<text ") if part.partition("<")[0].endswith(">100"))
    assert words in label


def test_the_drawing_leaves_every_colour_to_the_stylesheet() -> None:
    vein_map = vein_map_of(straight_vessel())
    svg = straightened_drawing(vein_map, plan_occlusion(vein_map, demo_kit(), load_protocol()))
    assert '="#' not in svg
    assert "style" not in svg
    assert "<script" not in svg


@pytest.mark.parametrize("colour", ["var(--ink)", "var(--sheet)", "var(--vein)"])
def test_the_drawing_uses_the_tokens_of_the_page(colour: str) -> None:
    vein_map = vein_map_of(straight_vessel())
    svg = straightened_drawing(vein_map, plan_occlusion(vein_map, demo_kit(), load_protocol()))
    assert f'"{colour}"' in svg
