"""The straightened vein: its geometry against figures worked by hand.

The map by hand is 200 mm long from the ostium, and the axis is 900 picture units long from x = 70:
4.5 units a millimetre. The widest calibre with its doubt is 6.15 mm, so calibres are drawn three
times as wide (2 x 52 / (6.15 x 4.5) = 3.8).
"""

from dataclasses import replace
from pathlib import Path
from xml.etree.ElementTree import Element, fromstring

import pytest

from coilwright.documents import straightened_vein_svg
from coilwright.planning import OcclusionPlan
from coilwright.veins import VeinMap
from documents.cases_by_hand import case_of, map_by_hand, plan_by_hand
from planning.straight_trunks import side_vein, straight_vessel, vein_map_of

SVG = "{http://www.w3.org/2000/svg}"
PER_MM = 4.5
LEFT = 70.0


@pytest.fixture
def plan(tmp_path: Path) -> OcclusionPlan:
    return plan_by_hand(case_of(tmp_path), map_by_hand())


def drawn(plan: OcclusionPlan, vein_map: VeinMap | None) -> Element:
    return fromstring(straightened_vein_svg(vein_map, plan))


def part(root: Element, **data: str) -> Element:
    wanted = {f"data-{name}": value for name, value in data.items()}
    found = [e for e in root.iter() if all(e.get(k) == v for k, v in wanted.items())]
    assert len(found) == 1, (wanted, len(found))
    return found[0]


def words(root: Element) -> list[str]:
    return [element.text or "" for element in root.iter(f"{SVG}text")]


def corners(polygon: Element) -> list[tuple[float, float]]:
    pairs = (pair.split(",") for pair in polygon.attrib["points"].split())
    return [(float(x), float(y)) for x, y in pairs]


def height_at(polygon: Element, x: float) -> float:
    ys = [y for at, y in corners(polygon) if abs(at - x) < 0.01]
    return max(ys) - min(ys)


def test_the_axis_has_its_ticks_at_true_places(plan: OcclusionPlan) -> None:
    axis = part(drawn(plan, map_by_hand()), part="axis")
    ticks = {e.get("data-mm"): float(e.attrib["x1"]) for e in axis if e.get("data-mm")}
    assert ticks["0"] == pytest.approx(LEFT)
    assert ticks["100"] == pytest.approx(LEFT + 100 * PER_MM)
    assert any("mm along the vein from the ostium, as projected" in w for w in words(axis))


def test_calibre_is_the_width_of_the_band_and_its_doubt_the_lighter_edge(
    plan: OcclusionPlan,
) -> None:
    band = part(drawn(plan, map_by_hand()), part="band")
    calibre, outer, inner = (part(band, part=name) for name in ("calibre", "outer", "inner"))
    wide, narrow = LEFT + 40 * PER_MM, LEFT + 85 * PER_MM
    # 6.0 mm and 2.9 mm, three times as wide; the doubt is 0.15 mm to either side of the diameter.
    assert height_at(calibre, wide) == pytest.approx(6.0 * PER_MM * 3, abs=0.02)
    assert height_at(calibre, narrow) == pytest.approx(2.9 * PER_MM * 3, abs=0.02)
    assert height_at(outer, wide) == pytest.approx(6.15 * PER_MM * 3, abs=0.02)
    assert height_at(inner, wide) == pytest.approx(5.85 * PER_MM * 3, abs=0.02)


def test_the_magnification_is_stated_with_a_ruler(plan: OcclusionPlan) -> None:
    root = drawn(plan, map_by_hand())
    (stated,) = (element.text or "" for element in root.iter(f"{SVG}desc"))
    assert "magnified 3 times against the length" in stated
    bar = next(e for e in part(root, part="calibre-bar") if e.get("data-mm"))
    length = float(bar.attrib["y2"]) - float(bar.attrib["y1"])
    assert bar.get("data-mm") == "6"
    assert length == pytest.approx(6 * PER_MM * 3)


def test_side_veins_and_duplicates_stand_at_their_mouths(plan: OcclusionPlan) -> None:
    root = drawn(plan, map_by_hand())
    side = part(root, part="side-vein", name="side-vein-1")
    (tick,) = (e for e in side if e.get("data-mm"))
    assert (tick.get("data-mm"), float(tick.attrib["x1"])) == ("60.0", LEFT + 60 * PER_MM)
    double = part(root, part="duplicate", name="duplicate-1")
    feet = {e.get("data-mm"): float(e.attrib["x2"]) for e in double if e.get("data-mm")}
    assert feet == {"110.0": LEFT + 110 * PER_MM, "140.0": LEFT + 140 * PER_MM}
    assert double.find(f"{SVG}path") is not None
    assert {"side-vein-1", "duplicate-1", "catheter tip"} <= set(words(root))


def test_a_narrowing_has_a_bracket_and_words(plan: OcclusionPlan) -> None:
    narrowing = part(drawn(plan, map_by_hand()), part="narrowing")
    bracket = part(narrowing, part="bracket")
    ends = float(bracket.attrib["x1"]), float(bracket.attrib["x2"])
    assert ends == (LEFT + 80 * PER_MM, LEFT + 90 * PER_MM)
    assert words(narrowing) == ["2.9 mm, probably 4.6 ± 0.4 mm"]


def test_a_level_is_a_numbered_step_with_its_coil_to_scale(plan: OcclusionPlan) -> None:
    level = part(drawn(plan, map_by_hand()), level="distal")
    zone = part(level, part="zone")
    # Floor at 190 mm, local offset 10 mm, local zone 30 mm: 150 to 180 mm.
    assert float(zone.attrib["x"]) == pytest.approx(LEFT + 150 * PER_MM)
    assert float(zone.attrib["width"]) == pytest.approx(30 * PER_MM)
    assert words(level) == ["1", "distal: Larkspur wire coil 8 mm x 140 mm"]
    nest = part(level, part="nest")
    # 8 mm across, three times as wide.
    assert float(nest.attrib["height"]) == pytest.approx(8 * PER_MM * 3, abs=0.02)
    end = float(nest.attrib["x"]) + float(nest.attrib["width"])
    assert end == pytest.approx(LEFT + 180 * PER_MM, abs=0.02)


def test_a_stretch_without_calibre_is_not_drawn_as_one(plan: OcclusionPlan) -> None:
    trunk = straight_vessel()
    unknown = tuple(None if 100 <= at <= 130 else 6.0 for at in trunk.arc_mm)
    root = drawn(plan, vein_map_of(replace(trunk, diameter_mm=unknown)))
    assert "not measured" in words(root)
    xs = [
        x
        for e in part(root, part="band").iter(f"{SVG}polygon")
        for x, _ in corners(e)
        if LEFT + 100 * PER_MM <= x <= LEFT + 130 * PER_MM
    ]
    assert xs == []


def test_without_an_ostium_the_axis_says_where_it_starts(plan: OcclusionPlan) -> None:
    root = drawn(plan, vein_map_of(straight_vessel(), ostium_mm=None))
    assert any("from the highest point seen (ostium not shown)" in w for w in words(root))


@pytest.mark.parametrize("vein_map", [None, vein_map_of(side_vein("side-vein-1", at_mm=10.0))])
def test_where_nothing_can_be_drawn_the_picture_says_so(
    plan: OcclusionPlan, vein_map: VeinMap | None
) -> None:
    (said,) = words(drawn(plan, vein_map))
    assert said.startswith("Not drawn: no ")


def test_markup_in_an_id_stays_text(plan: OcclusionPlan) -> None:
    name = 'side-vein-<b>&"\x07'
    root = drawn(plan, vein_map_of(straight_vessel(), side_vein(name, at_mm=60.0)))
    assert 'side-vein-<b>&"\ufffd' in words(root)


def test_labels_close_together_do_not_overlap(plan: OcclusionPlan) -> None:
    names = [f"side-vein-{n}" for n in range(3)]
    near = [side_vein(name, at_mm=60.0 + n) for n, name in enumerate(names)]
    root = drawn(plan, vein_map_of(straight_vessel(), *near, tip_mm=None, floor_mm=None))
    rows = {e.get("y") for e in root.iter(f"{SVG}text") if e.text in names}
    assert len(rows) == 3
