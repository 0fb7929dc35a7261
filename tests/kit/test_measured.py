"""The numbers of a comparison without its words, by hand-worked millimetres."""

import pytest

from coilwright.kit import WireEnd
from coilwright.kit.lengths import measure_exchange, measure_past_hub
from coilwright.kit.pair_fit import FitVerdict, Measured
from coilwright.kit.pushing import measure_end, measure_push
from coilwright.kit.widths import measure_through
from coilwright.protocol import load_protocol
from kit.devices import catheter, coil, micro, needle, wire

PROTOCOL = load_protocol()
HANDLING_CM = PROTOCOL.limit("wire-past-hub").value


def assert_measured(found: Measured, verdict: FitVerdict, margin_mm: float) -> None:
    assert found.verdict is verdict
    assert found.margin_mm == pytest.approx(margin_mm)


def test_a_width_is_measured_in_millimetres() -> None:
    # 0.035 in = 0.889 mm; a regular-wall 18 G bore is 0.838 mm, a thin-wall one 0.97 mm
    # (CLINICAL.md section 7).
    regular = measure_through(wire(0.035), needle(inner_mm=0.838), PROTOCOL)
    thin = measure_through(wire(0.035), needle(inner_mm=0.97), PROTOCOL)
    assert_measured(regular, FitVerdict.DOES_NOT_PASS, -0.051)
    assert_measured(thin, FitVerdict.PASSES, 0.081)


def test_a_silent_label_measures_nothing() -> None:
    found = measure_through(wire(0.035), needle(), PROTOCOL)
    assert found.margin_mm is None
    assert not found.passes
    assert not found.fails


def test_a_coil_beyond_the_widest_lumen_of_its_label_may_fold() -> None:
    # 0.038 in = 0.9652 mm, 0.025 in = 0.635 mm.
    found = measure_through(coil(0.018, needs_max_inch=0.025), catheter(), PROTOCOL)
    assert_measured(found, FitVerdict.MAY_FOLD, 0.635 - 0.9652)


def test_lengths_are_measured_with_the_handling_that_is_left_outside() -> None:
    over_cm = 180 - 65 - HANDLING_CM
    outside = measure_past_hub(wire(0.035), catheter(), PROTOCOL)
    assert_measured(outside, FitVerdict.PASSES, 10 * over_cm)
    # In the body to its hub: 65 cm of catheter twice, and the handling.
    exchanged = measure_exchange(wire(0.035, length_cm=140), catheter(), PROTOCOL)
    assert exchanged.margin_mm == pytest.approx(10 * (140 - 130 - HANDLING_CM))


def test_a_pusher_that_lies_beside_the_coil_may_wedge() -> None:
    # 0.010 + 0.010 in = 0.508 mm in a lumen of 0.021 in = 0.5334 mm.
    found = measure_push(wire(0.010), coil(0.010), micro(2.7))
    assert_measured(found, FitVerdict.MAY_FOLD, 0.508 - 0.5334)


@pytest.mark.parametrize(
    ("front", "back", "verdict"),
    [
        (WireEnd.STIFF, WireEnd.SOFT, FitVerdict.PASSES),
        (None, WireEnd.SOFT, FitVerdict.PASSES),
        (WireEnd.STIFF, None, FitVerdict.NOT_LABELLED),
        (WireEnd.STIFF, WireEnd.STIFF, FitVerdict.WRONG_END),
    ],
)
def test_a_soft_end_pushes_and_two_stiff_ones_do_not(
    front: WireEnd | None, back: WireEnd | None, verdict: FitVerdict
) -> None:
    assert measure_end(wire(0.018, front_end=front, back_end=back)).verdict is verdict
