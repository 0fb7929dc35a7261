"""The whole chain from needle to coil, on the demo's invented shelf."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilwright.kit import (
    Coil,
    CoilDelivery,
    FitVerdict,
    Kit,
    Plug,
    check_deliveries,
    check_delivery,
    delivery_ways,
    pass_through,
)
from coilwright.protocol import load_protocol
from kit.devices import catheter, coil, demo_kit, micro, needle, sheath, wire

PROTOCOL = load_protocol()
DEMO = demo_kit()


def demo_coil(id: str) -> Coil:
    found = DEMO.device(id)
    assert isinstance(found, Coil)
    return found


def whole_kit() -> Kit:
    return Kit(
        needles=(needle(accepts_inch=0.038),),
        wires=(wire(0.035),),
        sheaths=(sheath(5),),
        catheters=(catheter(),),
    )


def test_an_0_035_inch_coil_goes_through_the_5_french_catheter_alone() -> None:
    check = check_delivery(demo_coil("lw-6-140"), DEMO, PROTOCOL)
    assert check.passes
    assert check.catheter == "cath-5-65"
    assert check.microcatheter is None
    assert "needle-18-regular" not in check.devices


def test_a_microcoil_goes_through_the_microcatheter_that_fits_the_guide() -> None:
    check = check_delivery(demo_coil("sm-6-120"), DEMO, PROTOCOL)
    assert check.passes
    assert check.microcatheter == "micro-27-130"


def test_where_only_a_3_french_microcatheter_is_left_the_failing_pair_is_named() -> None:
    kit = replace(DEMO, microcatheters=DEMO.microcatheters[1:])
    check = check_delivery(demo_coil("sm-6-120"), kit, PROTOCOL)
    assert not check.coil_passes
    (fit,) = check.failing
    assert (fit.inner, fit.outer) == ("sm-6-120", "cath-5-65")
    assert fit.verdict is FitVerdict.MAY_FOLD


def test_a_regular_wall_needle_alone_on_the_shelf_fails_the_chain_and_not_the_coil() -> None:
    kit = replace(whole_kit(), needles=(needle(inner_mm=0.838),))
    check = check_delivery(coil(0.035), kit, PROTOCOL)
    assert check.coil_passes
    assert not check.passes
    assert [(p.inner, p.outer) for p in check.failing] == [("wire", "needle")]


def test_a_microcatheter_that_no_guide_takes_is_not_said_to_do() -> None:
    # The 3 F one has a lumen that suits the coil, but 3 F does not pass 0.038 in.
    kit = replace(DEMO, microcatheters=DEMO.microcatheters[1:])
    check = check_delivery(demo_coil("sm-6-120"), kit, PROTOCOL)
    assert check.would_do == ()
    assert "nothing else in the kit would do" in check.text


def test_a_kit_that_lists_no_needle_says_so_and_passes_nothing_silently() -> None:
    check = check_delivery(coil(0.035), replace(whole_kit(), needles=()), PROTOCOL)
    assert check.coil_passes
    assert not check.passes
    assert "no needle and access wire in the kit" in check.text


def test_an_empty_kit_delivers_nothing() -> None:
    check = check_delivery(coil(0.035), Kit(), PROTOCOL)
    assert not check.coil_passes
    assert "no catheter in the kit" in check.text


def test_a_catheter_past_its_date_is_not_used() -> None:
    expired = replace(catheter(), expiry=date(2026, 1, 31))
    kit = replace(whole_kit(), catheters=(expired,))
    assert check_delivery(coil(0.035), kit, PROTOCOL, on=date(2026, 1, 31)).passes
    assert not check_delivery(coil(0.035), kit, PROTOCOL, on=date(2026, 2, 1)).coil_passes


@pytest.mark.parametrize(
    ("pusher_cm", "verdict"),
    [(None, FitVerdict.NOT_LABELLED), (70.0, FitVerdict.TOO_SHORT)],
)
def test_a_detachable_coils_own_pusher_has_to_reach(
    pusher_cm: float | None, verdict: FitVerdict
) -> None:
    detachable = coil(0.035, delivery=CoilDelivery.DETACHABLE, pusher_cm=pusher_cm)
    check = check_delivery(detachable, whole_kit(), PROTOCOL)
    assert [pair.verdict for pair in check.failing] == [verdict]


def test_a_limit_from_memory_does_not_show_as_satisfied() -> None:
    check = check_delivery(coil(0.035), whole_kit(), PROTOCOL)
    assert check.passes
    assert "not signed off" in check.text


@settings(max_examples=60, deadline=None)
@given(
    kept=st.sets(st.sampled_from([device.id for device in DEMO])),
    more=st.sampled_from([device.id for device in DEMO]),
    of=st.sampled_from([c.id for c in DEMO.coils]),
)
def test_another_device_on_the_shelf_never_makes_delivery_worse(
    kept: set[str], more: str, of: str
) -> None:
    before = check_delivery(demo_coil(of), only(kept), PROTOCOL)
    after = check_delivery(demo_coil(of), only(kept | {more}), PROTOCOL)
    assert (after.passes, after.coil_passes) >= (before.passes, before.coil_passes)


def only(ids: set[str]) -> Kit:
    return Kit(
        needles=tuple(d for d in DEMO.needles if d.id in ids),
        wires=tuple(d for d in DEMO.wires if d.id in ids),
        sheaths=tuple(d for d in DEMO.sheaths if d.id in ids),
        catheters=tuple(d for d in DEMO.catheters if d.id in ids),
        microcatheters=tuple(d for d in DEMO.microcatheters if d.id in ids),
        coils=tuple(d for d in DEMO.coils if d.id in ids),
    )


def test_a_longer_guide_needs_a_longer_microcatheter() -> None:
    kit = replace(
        whole_kit(),
        wires=(wire(0.035), wire(0.018, length_cm=260, id="thin")),
        catheters=(catheter(length_cm=100),),
        microcatheters=(micro(2.7, length_cm=105),),
    )
    check = check_delivery(coil(0.018), kit, PROTOCOL)
    assert not check.coil_passes
    longer = replace(kit, microcatheters=(micro(2.7, length_cm=130),))
    assert check_delivery(coil(0.018), longer, PROTOCOL).coil_passes


def test_a_shelf_of_thousands_of_a_few_sizes_offers_no_more_ways_than_its_sizes() -> None:
    more = [replace(c, id=f"{c.id}-{n}") for n in range(1500) for c in DEMO.catheters]
    micros = [replace(m, id=f"{m.id}-{n}") for n in range(250) for m in DEMO.microcatheters]
    kit = replace(
        DEMO,
        catheters=(*DEMO.catheters, *more),
        microcatheters=(*DEMO.microcatheters, *micros),
    )
    # Two lengths of one catheter (a hook is the same size), each alone and with two sizes inside.
    assert len(delivery_ways(kit, PROTOCOL).ways) == 2 * (1 + 2)
    for each in DEMO.coils:
        assert check_delivery(each, kit, PROTOCOL).passes is (
            check_delivery(each, DEMO, PROTOCOL).passes
        )


def test_many_coils_checked_together_go_the_ways_that_each_goes_alone() -> None:
    kit = demo_kit()
    ways = delivery_ways(kit, PROTOCOL)
    goods: tuple[Coil | Plug, ...] = (*kit.coils, *kit.plugs)
    together = check_deliveries(goods, ways, PROTOCOL)
    for good in goods:
        assert together[good.id] == check_delivery(good, kit, PROTOCOL)


def test_the_way_that_is_found_is_as_good_as_any_that_the_kit_offers() -> None:
    # Every way tried one by one, by the pairs alone: none passes where the best does not.
    kit = demo_kit()
    ways = delivery_ways(kit, PROTOCOL)
    goods: tuple[Coil | Plug, ...] = (*kit.coils, *kit.plugs)
    for good in goods:
        found = check_deliveries((good,), ways, PROTOCOL)[good.id]
        passes = any(
            all(pair.passes for pair in (*way.inside, pass_through(good, way.lumen, PROTOCOL)))
            for way in ways.ways
        )
        assert found.coil_passes == passes


def test_sheath_and_entry_are_chosen_together() -> None:
    # The narrower sheath takes the catheter and no wire of the kit; the wider one takes both.
    kit = demo_kit()
    blind = replace(sheath(5), id="blind", accepts_wire_inch=0.009)
    wide = replace(sheath(6), id="wide")
    check = check_delivery(kit.coils[0], replace(kit, sheaths=(blind, wide)), PROTOCOL)
    assert check.passes
    assert "wide" in check.devices


def test_a_six_millimetre_fibred_coil_of_0_035_passes_a_5_f_catheter_with_0_038() -> None:
    # Common practice. 0.035 in is 0.8890 mm, 0.038 in 0.9652 mm (CLINICAL.md 7): 0.0762 mm spare.
    fit = pass_through(coil(0.035, diameter_mm=6), catheter(5, lumen_inch=0.038), PROTOCOL)
    assert fit.passes
    assert fit.margin_mm == pytest.approx(0.9652 - 0.8890, abs=1e-4)
