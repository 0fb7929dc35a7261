"""A calibre that changes faster than a vein's is said at its level, with the numbers."""

from dataclasses import replace

import pytest

from coilwright.advice import Urgency
from coilwright.planning import plan_occlusion
from coilwright.planning.calibre_jumps import CalibreJump, calibre_jump
from coilwright.protocol import load_protocol
from coilwright.veins import Vessel
from planning.straight_trunks import demo_kit, straight_vessel, vein_map_of

PROTOCOL = load_protocol()


def stepped(at_mm: float, after_mm: float, *, over_mm: float = 0.0, sd_mm: float = 0.15) -> Vessel:
    """A trunk of 6 mm that goes to another calibre at an arc, evenly over a length."""
    blank = straight_vessel(sd_mm=sd_mm)

    def width_mm(arc_mm: float) -> float:
        share = 1.0 if over_mm == 0 else min((arc_mm - at_mm) / over_mm, 1.0)
        return 6.0 if arc_mm < at_mm else 6.0 + share * (after_mm - 6.0)

    return replace(blank, diameter_mm=tuple(width_mm(arc_mm) for arc_mm in blank.arc_mm))


def jump_of(vessel: Vessel) -> CalibreJump | None:
    return calibre_jump(vessel, 50.0, 80.0, PROTOCOL)


def test_several_millimetres_within_five_are_a_jump() -> None:
    found = jump_of(stepped(65.0, 9.5))
    assert found is not None
    assert (found.before_mm, found.after_mm, found.change_mm) == (6.0, 9.5, 3.5)
    assert found.from_mm < 65.0 <= found.to_mm <= found.from_mm + 5.0


@pytest.mark.parametrize(
    "smooth",
    [
        # 3 mm over 30 mm are 0.5 mm within 5 mm.
        stepped(50.0, 9.0, over_mm=30.0),
        # Less than the local limit of 2 mm.
        stepped(65.0, 7.9),
        # Two fits with an sd of 1 mm each differ by 2 x root 2 = 2.8 mm by chance.
        stepped(65.0, 8.5, sd_mm=1.0),
    ],
)
def test_a_taper_a_small_step_and_poor_fits_are_none(smooth: Vessel) -> None:
    assert jump_of(smooth) is None


@pytest.mark.parametrize(("at_mm", "seen"), [(46.0, True), (84.0, True), (40.0, False)])
def test_a_jump_beside_the_zone_counts_and_one_far_from_it_does_not(
    at_mm: float, seen: bool
) -> None:
    assert (jump_of(stepped(at_mm, 9.5)) is not None) is seen


def test_the_level_says_the_jump_with_its_numbers() -> None:
    # The floor's mark is at 190 mm and the local offset 10 mm: the distal zone is 150 to 180 mm.
    vein_map = vein_map_of(stepped(165.0, 9.5))
    plan = plan_occlusion(vein_map, demo_kit(), PROTOCOL)
    (advisory,) = [a for a in plan.advisories if a.rule == "calibre-jumps"]
    assert advisory.urgency is Urgency.CAUTION
    assert advisory.text.startswith("Distal level: the calibre goes from 6.0 to 9.5 mm between")
    assert (advisory.value, advisory.limit, advisory.unit) == (3.5, 2.0, "mm")
