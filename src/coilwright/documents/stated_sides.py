"""Which side each part of a case states."""

from coilwright.record import Case
from coilwright.veins import Side, VeinMap


def stated_sides(case: Case, vein_map: VeinMap | None) -> dict[str, Side]:
    """Who stated which side; what states none is left out.

    Examples
    --------
    >>> from coilwright.assessment.facts import Patient, Referral
    >>> case = Case(
    ...     id="c", patient=Patient(id="1", name="N"), referral=Referral(side=Side.LEFT)
    ... )
    >>> stated_sides(case, None)
    {'referral': <Side.LEFT: 'left'>}
    """
    stated = {
        "referral": case.referral.side,
        "ultrasound": case.ultrasound.side,
        "consent": case.consent.side,
        "time-out": case.time_out.side,
    }
    stated |= {f"run {place}": run.side for place, run in enumerate(case.runs, start=1)}
    stated["vein map"] = None if vein_map is None else vein_map.side
    return {who: side for who, side in stated.items() if side is not None}


def agreed_side(stated: dict[str, Side]) -> Side | None:
    """The side that all who stated one agree on; None where nobody did or they differ."""
    sides = set(stated.values())
    return sides.pop() if len(sides) == 1 else None
