"""Which sides each part of a case states."""

from coilwright.assessment.stated_side import ultrasound_sides
from coilwright.record import Case
from coilwright.veins import Side, VeinMap

# Who says what is to be treated; ultrasound may see more, a run shows one side of it.
PLANS = ("referral", "worklist", "consent", "time-out")


def stated_sides(case: Case, vein_map: VeinMap | None) -> dict[str, tuple[Side, ...]]:
    """Who stated which sides; what states none is left out.

    Examples
    --------
    >>> from coilwright.assessment import Patient, Referral
    >>> case = Case(
    ...     id="c", patient=Patient(id="1", name="N"), referral=Referral(sides=(Side.LEFT,))
    ... )
    >>> stated_sides(case, None)
    {'referral': (<Side.LEFT: 'left'>,)}
    """
    stated: dict[str, tuple[Side, ...]] = {
        "referral": case.referral.sides,
        "ultrasound": ultrasound_sides(case.ultrasound),
        "worklist": case.worklist.sides,
        "consent": case.consent.sides,
        "time-out": case.time_out.sides,
    }
    stated |= {f"run {place}": _one(run.side) for place, run in enumerate(case.runs, start=1)}
    stated["vein map"] = () if vein_map is None else _one(vein_map.side)
    return {who: sides for who, sides in stated.items() if sides}


def agreed_sides(stated: dict[str, tuple[Side, ...]]) -> tuple[Side, ...]:
    """The sides that all who stated any have in common; empty where the plans differ."""
    if len({stated[who] for who in PLANS if who in stated}) > 1 or not stated:
        return ()
    return tuple(side for side in Side if all(side in sides for sides in stated.values()))


def _one(side: Side | None) -> tuple[Side, ...]:
    return () if side is None else (side,)
