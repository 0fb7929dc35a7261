"""Which wire leads a microcatheter: the widest that passes and stands out of its hub."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from coilwright.kit import Microcatheter, Wire, pass_through, stand_out
from coilwright.planning.pull_leads import Leads
from coilwright.protocol import load_protocol
from kit.devices import micro, wire

PROTOCOL = load_protocol()
# The sizes of CLINICAL.md section 7, and one that the label does not give.
WIRES_INCH = st.sampled_from([None, 0.014, 0.016, 0.018, 0.021, 0.025, 0.035, 0.038])
LENGTHS_CM = st.sampled_from([None, 80.0, 110.0, 130.0, 150.0, 180.0, 200.0, 260.0])


@st.composite
def wires(draw: st.DrawFn) -> list[Wire]:
    sizes = draw(st.lists(st.tuples(WIRES_INCH, LENGTHS_CM), max_size=12))
    return [
        replace(wire(0.018, id=f"wire-{place}"), wire_inch=inch, length_cm=cm)
        for place, (inch, cm) in enumerate(sizes)
    ]


@st.composite
def micros(draw: st.DrawFn) -> Microcatheter:
    return replace(micro(3.0), lumen_inch=draw(WIRES_INCH), length_cm=draw(LENGTHS_CM))


def test_the_widest_wire_that_is_also_long_enough_leads() -> None:
    # A 0.021 in lumen of 130 cm: 0.025 in is too wide, 0.018 in of 110 cm is shorter than the
    # microcatheter, 0.016 in of 180 cm passes and is wider than 0.014 in of 260 cm.
    row = [
        wire(0.014, length_cm=260, id="thin"),
        wire(0.025, length_cm=260, id="wide"),
        wire(0.018, length_cm=110, id="short"),
        wire(0.016, length_cm=180, id="leads"),
    ]
    found = Leads(row, PROTOCOL).widest(micro(2.7, lumen_inch=0.021, length_cm=130))
    assert found is not None
    assert found.id == "leads"


@given(wires(), micros())
def test_no_wire_that_was_left_out_would_have_led_better(
    row: list[Wire], outer: Microcatheter
) -> None:
    passing = [
        w
        for w in row
        if pass_through(w, outer, PROTOCOL).passes and stand_out(w, outer, PROTOCOL).passes
    ]
    widest = max(passing, key=lambda w: w.wire_inch or 0.0, default=None)
    assert Leads(row, PROTOCOL).widest(outer) == widest
