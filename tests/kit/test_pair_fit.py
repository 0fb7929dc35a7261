"""What passes through what, against published device dimensions (CLINICAL.md section 7)."""

import pytest

from coilwright.kit import FitVerdict, pass_through, push_behind, stand_out
from coilwright.protocol import load_protocol
from kit.devices import catheter, coil, micro, needle, sheath, wire

PROTOCOL = load_protocol()
WIDTH_TOLERANCE_MM = 5e-4


def test_a_regular_wall_18_gauge_needle_does_not_pass_a_0_035_inch_wire() -> None:
    # Needle gauge comparison chart: 18 G regular wall 0.838 mm; 0.035 in is 0.889 mm by definition.
    fit = pass_through(wire(0.035), needle(inner_mm=0.838), PROTOCOL)
    assert fit.verdict is FitVerdict.DOES_NOT_PASS
    assert fit.margin_mm == pytest.approx(0.838 - 0.889, abs=WIDTH_TOLERANCE_MM)
    assert "0.051 mm too wide" in fit.text


def test_a_needle_of_the_same_gauge_passes_by_its_label() -> None:
    # RadioGraphics exhibit: 0.035 in needs 18 G or wider, meaning a thin wall; the label decides.
    assert pass_through(wire(0.035), needle(accepts_inch=0.038), PROTOCOL).passes


def test_a_needle_without_a_labelled_bore_is_not_judged_by_its_gauge() -> None:
    fit = pass_through(wire(0.018), needle(), PROTOCOL)
    assert fit.verdict is FitVerdict.NOT_LABELLED
    assert fit.margin_mm is None


def test_the_narrower_of_two_labelled_bores_counts() -> None:
    needle_with_both = needle(inner_mm=0.838, accepts_inch=0.038)
    assert not pass_through(wire(0.035), needle_with_both, PROTOCOL).passes


@pytest.mark.parametrize(
    ("outer_fr", "passes"),
    # 0.038 in is 0.965 mm or 2.90 F; 3 F is 1.00 mm and 2.7 F is 0.90 mm.
    [(2.7, True), (2.8, True), (2.89, True), (2.9, False), (3.0, False)],
)
def test_a_microcatheter_passes_a_0_038_inch_lumen_up_to_2_89_french(
    outer_fr: float, passes: bool
) -> None:
    assert pass_through(micro(outer_fr), catheter(), PROTOCOL).passes is passes


def test_three_french_fails_a_0_038_inch_lumen_by_0_035_mm() -> None:
    fit = pass_through(micro(3.0), catheter(), PROTOCOL)
    assert fit.margin_mm == pytest.approx(0.9652 - 1.0, abs=WIDTH_TOLERANCE_MM)


@pytest.mark.parametrize(("accepts_fr", "passes"), [(4, False), (5, True), (6, True)])
def test_a_sheath_takes_catheters_up_to_its_own_french_size(
    accepts_fr: float, passes: bool
) -> None:
    assert pass_through(catheter(5), sheath(accepts_fr), PROTOCOL).passes is passes


def test_a_six_millimetre_coil_of_0_035_inch_wire_passes_a_0_038_inch_lumen() -> None:
    # Taylor & Francis chapter: 0.035 in coils go through 4 to 5 F catheters.
    fit = pass_through(coil(0.035, diameter_mm=6), catheter(5, lumen_inch=0.038), PROTOCOL)
    assert fit.passes
    assert fit.margin_mm == pytest.approx(0.0762, abs=WIDTH_TOLERANCE_MM)


def test_the_coils_wire_decides_and_never_its_loop_diameter() -> None:
    fits = [pass_through(coil(0.035, diameter_mm=d), catheter(), PROTOCOL) for d in (4.0, 20.0)]
    assert fits[0].margin_mm == fits[1].margin_mm


def test_a_0_035_inch_coil_does_not_pass_a_0_021_inch_microcatheter() -> None:
    fit = pass_through(coil(0.035), micro(2.7, lumen_inch=0.021), PROTOCOL)
    assert fit.verdict is FitVerdict.DOES_NOT_PASS
    assert fit.margin_mm == pytest.approx(-0.3556, abs=WIDTH_TOLERANCE_MM)  # 0.014 in


def test_a_0_018_inch_coil_may_fold_in_a_0_038_inch_lumen() -> None:
    # Twice 0.018 in is 0.036 in: the wire can lie double in 0.038 in.
    fit = pass_through(coil(0.018), catheter(), PROTOCOL)
    assert fit.verdict is FitVerdict.MAY_FOLD
    assert "lie double" in fit.text


def test_a_0_018_inch_coil_passes_a_0_021_inch_microcatheter_by_an_unsigned_limit() -> None:
    # Taylor & Francis chapter: 0.018 in coils go through microcatheters of about 2.5 F.
    fit = pass_through(coil(0.018), micro(2.5, lumen_inch=0.021), PROTOCOL)
    assert fit.passes
    assert fit.limit_stands is False
    assert "not signed off" in fit.text


def test_the_labelled_widest_lumen_goes_before_the_local_limit() -> None:
    labelled = coil(0.018, needs_max_inch=0.02)
    fit = pass_through(labelled, micro(2.5, lumen_inch=0.021), PROTOCOL)
    assert fit.verdict is FitVerdict.MAY_FOLD
    assert fit.limit_stands


def test_equal_labels_pass() -> None:
    assert pass_through(wire(0.038), catheter(lumen_inch=0.038), PROTOCOL).passes


@pytest.mark.parametrize(
    ("length_cm", "verdict"),
    # 65 cm of catheter and the 10 cm that stand out of the hub (local limit).
    [(74.0, FitVerdict.TOO_SHORT), (75.0, FitVerdict.PASSES)],
)
def test_a_wire_has_to_stand_out_of_the_hub(length_cm: float, verdict: FitVerdict) -> None:
    fit = stand_out(wire(0.035, length_cm=length_cm), catheter(length_cm=65), PROTOCOL)
    assert fit.verdict is verdict
    assert fit.margin_mm == pytest.approx((length_cm - 75.0) * 10)


def test_a_microcatheter_exceeds_its_guide_by_the_local_limit() -> None:
    # 100 cm guide and 10 cm: 110 cm needed.
    short = stand_out(micro(2.7, length_cm=105), catheter(length_cm=100), PROTOCOL)
    assert short.verdict is FitVerdict.TOO_SHORT
    assert "5 cm too short" in short.text
    assert stand_out(micro(2.7, length_cm=110), catheter(length_cm=100), PROTOCOL).passes


def test_a_thin_pusher_slips_past_the_coil_that_it_should_push() -> None:
    # 0.018 in wire beside an 0.018 in coil is 0.036 in and fits 0.038 in; 0.035 in does not.
    assert push_behind(wire(0.018), coil(0.018), catheter()).verdict is FitVerdict.MAY_FOLD
    assert push_behind(wire(0.035), coil(0.035), catheter()).passes
