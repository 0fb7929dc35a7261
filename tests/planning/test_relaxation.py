"""What changes if the vein relaxes further: figures by hand and the law that they obey."""

import math
from dataclasses import replace

import pytest

from coilwright.kit import Kit
from coilwright.planning import plan_occlusion
from coilwright.protocol import load_protocol
from coilwright.veins import Narrowing
from planning.straight_trunks import demo_kit, straight_vessel, vein_map_of

PROTOCOL = load_protocol()
KIT = demo_kit()


def upper_tail(z: float) -> float:
    """1 - Phi(z) of the standard normal distribution."""
    return 0.5 * math.erfc(z / math.sqrt(2))


def test_each_step_gives_the_first_choice_then_beside_the_one_of_today() -> None:
    level = plan_occlusion(vein_map_of(straight_vessel()), KIT, PROTOCOL).levels[0]
    relaxed = level.relaxed
    assert relaxed is not None
    assert [row.relaxes_by_mm for row in level.if_relaxes] == [0.5, 1.0, 1.5, 2.0]
    widths = {coil.id: coil.diameter_mm for coil in KIT.coils}
    assert level.first_choice == "lw-8-140"
    for row in level.if_relaxes:
        assert row.diameter_mm == pytest.approx(6.0 + row.relaxes_by_mm)
        # The sd stays: the chance of today's 8 mm is that of a normal vein over 8 mm.
        today = upper_tail((8.0 - row.diameter_mm) / relaxed.sd_mm)
        assert row.todays_probability_undersized == pytest.approx(today, rel=1e-6)
        assert row.first_choice is not None
        assert row.probability_undersized is not None
        assert row.probability_undersized <= 0.05
        assert widths[row.first_choice] >= 8
    # At 8 mm the coil of 8 mm is as likely too narrow as not.
    last = level.if_relaxes[-1]
    assert last.todays_probability_undersized == pytest.approx(0.5, abs=1e-6)
    # 10 mm is aimed at (25 % over 8 mm).
    assert last.first_choice == "lw-10-200"
    assert "today's first, Larkspur wire coil 8 mm x 140 mm, 50 %" in last.text


def test_an_empty_kit_has_rows_without_a_coil() -> None:
    level = plan_occlusion(vein_map_of(straight_vessel()), Kit(), PROTOCOL).levels[0]
    assert [row.first_choice for row in level.if_relaxes] == [None] * 4
    assert all(row.todays_probability_undersized is None for row in level.if_relaxes)
    assert level.if_relaxes[0].text == "At 6.5 mm: no coil of the kit can be advised first."


def test_a_calibre_that_is_not_known_relaxes_to_nothing() -> None:
    spasm = Narrowing(from_mm=0, to_mm=200, relaxed_diameter_mm=None, relaxed_sd_mm=None)
    trunk = straight_vessel(narrowings=(spasm,), narrowed_to_mm=3.0)
    for level in plan_occlusion(vein_map_of(trunk), KIT, PROTOCOL).levels:
        assert level.if_relaxes == ()
        assert level.plugs == ()


def test_a_vein_in_spasm_gets_the_coil_of_the_relaxed_vein_not_of_what_is_seen() -> None:
    # Common practice: a vein in spasm looks far smaller than it is. Seen 3 mm, relaxed 6 mm.
    spasm = Narrowing(from_mm=100, to_mm=200, relaxed_diameter_mm=6.0, relaxed_sd_mm=0.3)
    seen = straight_vessel(narrowings=(spasm,), narrowed_to_mm=3.0)
    level = plan_occlusion(vein_map_of(seen), KIT, PROTOCOL).levels[0]
    assert level.measured is not None
    assert level.measured.diameter_mm == 3.0
    assert level.first_choice == "lw-8-140"
    of_what_is_seen = plan_occlusion(
        vein_map_of(straight_vessel(diameter_mm=3.0)), KIT, PROTOCOL
    ).levels[0]
    assert of_what_is_seen.first_choice is not None
    choice = next(c for c in level.choices if c.device == of_what_is_seen.first_choice)
    assert choice.probability_undersized > 0.9


def test_a_catheter_as_wide_as_the_vein_is_told() -> None:
    # 5 F is 1.67 mm. Without the microcatheter coils, what is left comes through 5 F.
    wide = replace(KIT, microcatheters=())
    thin = vein_map_of(straight_vessel(diameter_mm=1.5, sd_mm=0.05))
    found = plan_occlusion(thin, wide, PROTOCOL)
    said = [a for a in found.advisories if a.rule == "catheter-as-wide-as-vein"]
    assert len(said) == 2
    assert "5 F (1.67 mm), as wide as the relaxed vein (1.5 mm)" in said[0].text


def test_a_vein_that_takes_no_microcatheter_gets_no_coil() -> None:
    # 3 F is 1.00 mm (REVIEW.md 9).
    found = plan_occlusion(vein_map_of(straight_vessel(diameter_mm=1.0, sd_mm=0.05)), KIT, PROTOCOL)
    for level in found.levels:
        assert level.first_choice is None
        assert level.choices
        assert all("not wider than the 1 mm" in c.why for c in level.choices)
