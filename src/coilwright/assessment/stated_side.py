"""The side, as far as those who stated it agree."""

from coilwright.assessment.facts import Facts
from coilwright.veins import Side


def stated_sides(facts: Facts) -> dict[str, Side | None]:
    """Who stated which side; None where it is not recorded."""
    return {
        "referral": facts.referral.side,
        "ultrasound": facts.ultrasound.side,
        "consent": facts.consent.side,
        "time-out": facts.time_out.side,
    }


def stated_side(facts: Facts) -> Side | None:
    """The side that all who stated one agree on; None where nobody did or they disagree."""
    sides = {side for side in stated_sides(facts).values() if side is not None}
    return sides.pop() if len(sides) == 1 else None
