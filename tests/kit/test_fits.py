"""The chain of pairs: which pair fails, by how much, and what would do (CLINICAL.md section 7)."""

from dataclasses import replace
from datetime import date
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilwright.kit import (
    Catheter,
    ChainVerdict,
    Device,
    FitAnswer,
    FitVerdict,
    Kit,
    WireEnd,
    exchange_over,
    fits,
    pusher_end,
)
from coilwright.protocol import load_protocol
from kit.devices import catheter, coil, demo_kit, micro, needle, sheath, wire

PROTOCOL = load_protocol()
DEMO = demo_kit()
WIDTH_TOLERANCE_MM = 5e-4


def of_demo(*ids: str, kit: Kit = DEMO, on: date | None = None) -> FitAnswer:
    return fits([DEMO.device(id) for id in ids], kit, PROTOCOL, on=on)


def mends_of(answer: FitAnswer) -> dict[str | None, tuple[str, ...]]:
    (failing,) = answer.failing
    return {mend.in_place_of: mend.devices for mend in failing.mends}


@pytest.mark.parametrize(
    ("bore_mm", "wire_inch", "verdict"),
    # Regular-wall bores of 18 to 22 G: needle gauge comparison chart; wires times 25.4 by
    # definition: 0.035 in 0.889 mm, 0.025 in 0.635 mm, 0.021 in 0.533 mm, 0.018 in 0.457 mm,
    # 0.014 in 0.356 mm.
    [
        (0.838, 0.035, "does-not-fit"),
        (0.686, 0.035, "does-not-fit"),
        (0.686, 0.025, "fits"),
        (0.603, 0.025, "does-not-fit"),
        (0.603, 0.021, "fits"),
        (0.514, 0.021, "does-not-fit"),
        (0.514, 0.018, "fits"),
        (0.413, 0.018, "does-not-fit"),
        (0.413, 0.014, "fits"),
    ],
)
def test_the_needles_bore_in_millimetres_decides_which_wire_passes(
    bore_mm: float, wire_inch: float, verdict: str
) -> None:
    answer = fits([needle(inner_mm=bore_mm), wire(wire_inch)], DEMO, PROTOCOL)
    assert answer.verdict.value == verdict


def test_a_regular_wall_18_gauge_needle_fails_0_035_inch_and_the_thin_wall_would_do() -> None:
    # 0.889 - 0.838 mm: Wikipedia "Needle gauge comparison chart", 18 G regular wall 0.838 mm.
    answer = of_demo("needle-18-regular", "wire-35-180")
    assert answer.verdict is ChainVerdict.DOES_NOT_FIT
    assert answer.failing[0].short_by_mm == pytest.approx(0.051, abs=WIDTH_TOLERANCE_MM)
    assert mends_of(answer)["needle-18-regular"] == ("needle-18-thin",)
    assert mends_of(answer)["wire-35-180"] == ("wire-18-200",)


def test_three_french_does_not_pass_a_0_038_inch_guide_and_2_7_french_would_do() -> None:
    # 3 F is 1.000 mm (1 F = 1/3 mm, RadioGraphics exhibit), 0.038 in is 0.9652 mm: 0.035 mm.
    answer = of_demo("cath-5-65", "micro-30-130")
    assert answer.failing[0].short_by_mm == pytest.approx(0.0348, abs=WIDTH_TOLERANCE_MM)
    assert mends_of(answer) == {"cath-5-65": (), "micro-30-130": ("micro-27-130",)}


def test_the_narrow_tip_of_a_microcatheter_does_not_help_its_wide_shaft() -> None:
    tapered = replace(micro(3.0), outer_distal_fr=2.4)
    assert fits([catheter(), tapered], DEMO, PROTOCOL).verdict is ChainVerdict.DOES_NOT_FIT


def test_a_microcatheter_labelled_at_its_tip_alone_cannot_be_told() -> None:
    tip_alone = replace(micro(2.7), outer_fr=None, outer_distal_fr=2.4)
    answer = fits([catheter(), tip_alone], DEMO, PROTOCOL)
    assert answer.verdict is ChainVerdict.CANNOT_BE_TOLD
    assert answer.read_off == (
        "the widest (proximal) shaft (F) off the label of 2.7 F microcatheter",
    )


@pytest.mark.parametrize(
    "silent",
    [replace(catheter(), lumen_inch=None), replace(catheter(), length_cm=None)],
    ids=["lumen", "length"],
)
def test_a_value_that_the_label_does_not_give_is_never_taken_from_elsewhere(
    silent: Catheter,
) -> None:
    answer = fits([silent, wire(0.035)], DEMO, PROTOCOL)
    assert answer.verdict is ChainVerdict.CANNOT_BE_TOLD
    assert "off the label of 5 F catheter" in answer.read_off[0]
    assert not answer.failing


def test_a_pair_that_fails_outweighs_one_that_cannot_be_told() -> None:
    silent = replace(catheter(), length_cm=None)
    answer = fits([silent, wire(0.05)], DEMO, PROTOCOL)
    assert answer.verdict is ChainVerdict.DOES_NOT_FIT
    assert answer.read_off


def test_a_lumen_labelled_in_millimetres_is_compared_with_a_wire_in_inches() -> None:
    # 0.018 in is 0.4572 mm: it passes 0.46 mm and not 0.45 mm.
    wide, narrow = (replace(micro(2.7), lumen_inch=None, lumen_mm=mm) for mm in (0.46, 0.45))
    assert fits([wide, wire(0.018)], DEMO, PROTOCOL).verdict is ChainVerdict.FITS
    assert fits([narrow, wire(0.018)], DEMO, PROTOCOL).verdict is ChainVerdict.DOES_NOT_FIT


def test_a_lumen_labelled_twice_counts_as_the_narrower() -> None:
    twice = replace(micro(2.7), lumen_inch=0.021, lumen_mm=0.45)
    assert fits([twice, wire(0.018)], DEMO, PROTOCOL).verdict is ChainVerdict.DOES_NOT_FIT


def test_the_order_in_which_the_devices_are_named_does_not_matter() -> None:
    named: list[Device] = [
        DEMO.device(id) for id in ("needle-18-thin", "wire-35-180", "sheath-5-11", "cath-5-65")
    ]
    answers = {fits(order, DEMO, PROTOCOL) for order in permutations(named)}
    assert len(answers) == 1
    assert answers.pop().devices == ("needle-18-thin", "wire-35-180", "sheath-5-11", "cath-5-65")


def test_a_whole_chain_names_every_pair_and_its_unsigned_limits() -> None:
    answer = of_demo("needle-18-thin", "wire-35-180", "sheath-5-11", "cath-5-65", "lw-8-140")
    assert answer.verdict is ChainVerdict.FITS
    assert {(pair.rule, pair.inner, pair.outer) for pair in answer.pairs} == {
        ("through", "wire-35-180", "needle-18-thin"),
        ("past-hub", "wire-35-180", "needle-18-thin"),
        ("through", "wire-35-180", "sheath-5-11"),
        ("past-hub", "wire-35-180", "sheath-5-11"),
        ("through", "wire-35-180", "cath-5-65"),
        ("past-hub", "wire-35-180", "cath-5-65"),
        ("through", "cath-5-65", "sheath-5-11"),
        ("past-hub", "cath-5-65", "sheath-5-11"),
        ("coil", "lw-8-140", "cath-5-65"),
        ("pusher", "wire-35-180", "lw-8-140"),
        ("pusher-end", "wire-35-180", "lw-8-140"),
    }
    assert answer.limits_stand is False
    assert "not signed off" in answer.text


def test_a_wire_of_the_guide_is_not_held_against_the_microcatheter_in_it() -> None:
    answer = of_demo("wire-35-180", "cath-5-65", "micro-27-130", "sm-6-120")
    assert answer.verdict is ChainVerdict.FITS
    assert len(answer.not_checked) == 2  # the microcatheter's own wire, and the coil's pusher
    assert "not everything was checked" in answer.text


def test_a_microcoil_in_a_guide_may_fold_and_a_microcatheter_is_said_to_do() -> None:
    # The label names 0.025 in as the widest lumen; 0.038 - 0.025 in is 0.330 mm.
    answer = of_demo("cath-5-65", "sm-6-120")
    assert answer.pairs[0].verdict is FitVerdict.MAY_FOLD
    assert answer.failing[0].short_by_mm == pytest.approx(0.3302, abs=WIDTH_TOLERANCE_MM)
    # Not the 3 F one, whose lumen suits the coil and whose shaft does not pass the guide.
    assert mends_of(answer)[None] == ("micro-27-130",)


def test_a_coil_is_only_replaced_by_one_of_the_same_nominal_diameter() -> None:
    assert mends_of(of_demo("cath-5-65", "sm-6-120"))["sm-6-120"] == ("lw-6-70", "lw-6-140")


def test_a_thick_coil_in_a_microcatheter_is_told_that_the_guide_itself_would_do() -> None:
    mends = mends_of(of_demo("cath-5-65", "micro-27-130", "lw-8-140"))
    assert mends["micro-27-130"] == ("cath-5-65",)


def test_what_would_do_fails_with_no_other_device_of_the_chain() -> None:
    # A 6 F catheter would take the 3 F microcatheter by its lumen, but not the 5 F sheath.
    wide = replace(catheter(6, lumen_inch=0.05), id="wide")
    kit = replace(DEMO, catheters=(*DEMO.catheters, wide))
    alone = of_demo("cath-5-65", "micro-30-130", kit=kit)
    assert mends_of(alone)["cath-5-65"] == ("wide",)
    sheathed = of_demo("sheath-5-11", "cath-5-65", "micro-30-130", kit=kit)
    assert mends_of(sheathed)["cath-5-65"] == ()


def test_what_has_expired_or_is_not_on_the_shelf_would_not_do() -> None:
    # The 2.7 F microcatheter of the demo may be used until 2028-04-30.
    for day, found in ((date(2028, 4, 30), ("micro-27-130",)), (date(2028, 5, 1), ())):
        answer = of_demo("cath-5-65", "micro-30-130", on=day)
        assert mends_of(answer)["micro-30-130"] == found
    none_left = replace(
        DEMO, microcatheters=tuple(replace(m, shelf_count=0) for m in DEMO.microcatheters)
    )
    assert mends_of(of_demo("cath-5-65", "micro-30-130", kit=none_left))["micro-30-130"] == ()


def test_a_snare_needs_the_sheath_of_its_label_to_come_out_with_its_catch() -> None:
    # Labelled 6 F, sheath 5 F: one French is 0.333 mm.
    answer = of_demo("sheath-5-11", "cath-5-65", "snare-10")
    assert answer.failing[0].short_by_mm == pytest.approx(1 / 3, abs=WIDTH_TOLERANCE_MM)
    assert mends_of(answer)["sheath-5-11"] == ("sheath-6-11",)


def test_a_plug_in_a_lumen_narrower_than_its_label_does_not_pass() -> None:
    # 0.038 - 0.021 in is 0.4318 mm.
    answer = of_demo("cath-5-65", "micro-27-130", "plug-8")
    assert answer.failing[0].short_by_mm == pytest.approx(0.4318, abs=WIDTH_TOLERANCE_MM)


def test_a_plug_in_a_lumen_wider_than_its_label_is_not_passed() -> None:
    plug = replace(DEMO.plugs[0], needs_lumen_min_inch=0.018, needs_lumen_max_inch=0.021)
    answer = fits([catheter(), plug], DEMO, PROTOCOL)
    assert answer.pairs[0].verdict is FitVerdict.MAY_FOLD


def test_two_devices_that_make_no_pair_do_not_fit_silently() -> None:
    answer = fits([needle(inner_mm=0.97), catheter()], DEMO, PROTOCOL)
    assert answer.verdict is ChainVerdict.CANNOT_BE_TOLD
    assert "make a pair" in answer.text


@pytest.mark.parametrize(
    ("front", "back", "verdict"),
    # Common practice, no source: the soft end pushes, the stiff end only loads at the hub.
    [
        (WireEnd.SOFT, WireEnd.STIFF, FitVerdict.PASSES),
        (WireEnd.STIFF, WireEnd.SOFT, FitVerdict.PASSES),
        (WireEnd.SOFT, None, FitVerdict.PASSES),
        (WireEnd.STIFF, WireEnd.STIFF, FitVerdict.WRONG_END),
        (WireEnd.STIFF, None, FitVerdict.NOT_LABELLED),
        (None, None, FitVerdict.NOT_LABELLED),
    ],
)
def test_the_soft_end_of_a_wire_pushes_a_coil(
    front: WireEnd | None, back: WireEnd | None, verdict: FitVerdict
) -> None:
    fit = pusher_end(wire(0.035, front_end=front, back_end=back), coil(0.035))
    assert fit.verdict is verdict
    if verdict is FitVerdict.PASSES:
        assert f"its {'front' if front is WireEnd.SOFT else 'back'} end (soft) pushes" in fit.text
    if verdict is FitVerdict.NOT_LABELLED:
        assert "stiffness" in (fit.read_off or "")


@pytest.mark.parametrize(
    ("wire_cm", "in_body_cm", "margin_mm"),
    # Wire >= catheter + length in the body + 10 cm of handling (from memory), by hand:
    # 100 + 100 + 10 = 210 cm in to the hub, 100 + 50 + 10 = 160 cm with 50 cm in the body.
    [(180, None, -300.0), (260, None, 500.0), (180, 50.0, 200.0), (150, 50.0, -100.0)],
)
def test_an_exchange_needs_the_catheter_twice_or_what_lies_in_the_body(
    wire_cm: float, in_body_cm: float | None, margin_mm: float
) -> None:
    fit = exchange_over(
        wire(0.035, length_cm=wire_cm), catheter(length_cm=100), PROTOCOL, in_body_cm=in_body_cm
    )
    assert fit.margin_mm == pytest.approx(margin_mm)
    assert fit.passes is (margin_mm >= 0)


def test_a_wire_too_short_for_an_exchange_still_leads_the_catheter() -> None:
    answer = of_demo("wire-35-180", "cath-5-100")
    assert answer.verdict is ChainVerdict.FITS
    assert [pair.verdict for pair in answer.exchanges] == [FitVerdict.TOO_SHORT]


def test_a_sheath_without_a_labelled_size_is_told_what_to_read() -> None:
    answer = fits([replace(sheath(5), accepts_fr=None), catheter()], DEMO, PROTOCOL)
    assert answer.read_off == ("the largest catheter it accepts (F) off the label of 5 F sheath",)


def test_a_pusher_without_a_labelled_diameter_is_told_what_to_read() -> None:
    silent = replace(wire(0.018, id="pusher", front_end=WireEnd.SOFT), wire_inch=None)
    answer = fits([catheter(), wire(0.035), micro(2.7), silent, coil(0.018)], DEMO, PROTOCOL)
    assert answer.verdict is ChainVerdict.CANNOT_BE_TOLD
    assert any(read.startswith("the wire's diameter (in) off") for read in answer.read_off)


WITH_WIDTH = [d.id for d in DEMO if d not in (*DEMO.sclerosants, *DEMO.adhesives)]


@settings(max_examples=60, deadline=None)
@given(ids=st.sets(st.sampled_from(WITH_WIDTH), min_size=2, max_size=6))
def test_whatever_would_do_leaves_fewer_pairs_failing_when_it_is_taken(ids: set[str]) -> None:
    answer = of_demo(*sorted(ids))
    for failing in answer.failing:
        for mend in failing.mends:
            for device in mend.devices:
                taken = (ids - {mend.in_place_of}) | {device}
                after = of_demo(*sorted(id for id in taken if id is not None))
                assert len(after.failing) < len(answer.failing)
                if device not in ids:
                    pairs = [p for p in after.pairs if device in (p.inner, p.outer)]
                    assert all(pair.passes for pair in pairs)
