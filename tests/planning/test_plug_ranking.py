"""Plugs beside the coils: their own oversize, the same safety, delivery by their labels."""

from dataclasses import replace
from datetime import date

import pytest

from coilwright.kit import Kit, Plug, check_delivery
from coilwright.planning import plan_occlusion
from coilwright.planning.coil_size import plug_band
from coilwright.protocol import load_protocol
from planning.straight_trunks import demo_kit, straight_vessel, vein_map_of

PROTOCOL = load_protocol()
KIT = demo_kit()
ON = date(2026, 3, 12)


def plug(diameter_mm: float, *, needs_inch: float | None = 0.038, shelf: int = 1) -> Plug:
    return Plug(
        id=f"plug-{diameter_mm:g}",
        name=f"{diameter_mm:g} mm plug",
        read_at="made up for the test",
        shelf_count=shelf,
        diameter_mm=diameter_mm,
        length_mm=7,
        needs_lumen_min_inch=needs_inch,
        pusher_length_cm=155,
        price=400,
    )


def with_plugs(*plugs: Plug) -> Kit:
    return replace(KIT, plugs=plugs)


def test_a_plug_s_oversize_is_its_own_common_practice() -> None:
    # Plugs 30 to 50 % over: 6 mm gives 7.8 to 9 mm, aim 40 % (8.4 mm). From memory.
    band = plug_band(6.0, PROTOCOL)
    assert (band.least_mm, band.target_mm, band.most_mm) == pytest.approx((7.8, 8.4, 9.0))
    assert not PROTOCOL.limit("plug-oversize-max").stands


def test_plugs_stand_in_their_own_order_with_oversize_chance_length_and_cost() -> None:
    kit = with_plugs(plug(6), plug(8), plug(10), plug(12))
    level = plan_occlusion(vein_map_of(straight_vessel()), kit, PROTOCOL, on=ON).levels[0]
    # 8.4 mm is aimed at and 9 mm the most: 8 mm, then the wider ones that lie longer; 6 mm is as
    # wide as the vein, so at even odds it travels.
    assert [choice.device for choice in level.plugs] == [
        "plug-8",
        "plug-10",
        "plug-12",
        "plug-6",
    ]
    first, worst = level.plugs[0], level.plugs[-1]
    assert (first.rank, first.number, first.length_mm, first.cost) == (1, 1, 7, 400)
    assert first.oversize_ratio == pytest.approx(8 / 6)
    assert worst.rank is None
    assert worst.probability_undersized == pytest.approx(0.5, abs=0.01)
    assert worst.why.startswith("not advised: may be narrower than the vein and travel")
    assert "over the local oversize" in level.plugs[1].why


def test_a_plug_goes_through_no_narrower_lumen_than_its_label_names() -> None:
    # 0.056 in is 1.422 mm; the widest lumen of the kit is 0.038 in, 0.965 mm: 0.457 mm too wide.
    check = check_delivery(plug(8, needs_inch=0.056), KIT, PROTOCOL, on=ON)
    assert not check.coil_passes
    assert "0.457 mm too wide" in check.text
    level = plan_occlusion(
        vein_map_of(straight_vessel()), with_plugs(plug(8, needs_inch=0.056)), PROTOCOL, on=ON
    ).levels[0]
    assert level.plugs[0].rank is None
    assert "cannot be delivered" in level.plugs[0].why


def test_a_plug_whose_label_is_silent_is_not_delivered_by_a_guess() -> None:
    check = check_delivery(plug(8, needs_inch=None), KIT, PROTOCOL, on=ON)
    assert not check.coil_passes
    assert "read the narrowest lumen it needs (in)" in check.text


def test_a_plug_comes_on_a_wire_of_its_own_that_must_stand_out_of_the_hub() -> None:
    short = replace(plug(8), pusher_length_cm=60)
    check = check_delivery(short, KIT, PROTOCOL, on=ON)
    assert check.coil_passes
    assert not check.passes
    # 65 cm of catheter and 10 cm to hold make 75 cm.
    assert "15 cm too short" in check.text


def test_a_plug_that_may_be_placed_is_named_where_no_coil_can_be() -> None:
    # 16 mm relaxed: no coil of the kit is wide enough; 22 mm is 38 % over.
    kit = with_plugs(plug(22))
    found = plan_occlusion(vein_map_of(straight_vessel(diameter_mm=16.0)), kit, PROTOCOL, on=ON)
    said = next(a for a in found.advisories if a.rule == "no-coil-advised")
    assert "Of the plugs, 22 mm plug may be placed first" in said.text
    assert all(level.first_choice is None for level in found.levels)
