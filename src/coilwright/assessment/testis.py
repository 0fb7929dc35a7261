"""Testis volume by both published formulas, and the asymmetry with its denominator stated."""

import datetime as dt
import math

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.facts import Facts
from coilwright.assessment.findings import Testes, TestisSize
from coilwright.assessment.stated_side import agreed_sides
from coilwright.protocol import Citation, Protocol, advise
from coilwright.veins import Side

LAMBERT_RULE = "testis-volume-lambert"
ELLIPSOID_RULE = "testis-volume-ellipsoid"
ASYMMETRY_RULE = "testis-asymmetry"
LAMBERT = Citation(
    source="Lambert B, Hum Biol 1951;23; Freeman S et al., ESUR guideline, "
    "Eur Radiol 2020;30:11-25",
    status=Status.RESTATED,
)
ELLIPSOID = Citation(
    source="volume of an ellipsoid, pi/6 of the product of its axes; compared by Hsieh ML et al., "
    "Asian J Androl 2009;11:261-265",
    status=Status.PUBLISHED,
)


def lambert_volume_ml(*, length_mm: float, width_mm: float, height_mm: float) -> float:
    """Testis volume in mL: 0.71 x length x width x height.

    Examples
    --------
    >>> round(lambert_volume_ml(length_mm=45, width_mm=30, height_mm=25), 2)
    23.96
    """
    return 0.71 * length_mm * width_mm * height_mm / 1000.0


def ellipsoid_volume_ml(*, length_mm: float, width_mm: float, height_mm: float) -> float:
    """Testis volume in mL: pi/6 x length x width x height.

    Examples
    --------
    >>> round(ellipsoid_volume_ml(length_mm=45, width_mm=30, height_mm=25), 2)
    17.67
    """
    return math.pi / 6.0 * length_mm * width_mm * height_mm / 1000.0


def asymmetry_percent(*, affected_ml: float, other_ml: float, of_larger: bool) -> float:
    """By how much the affected testis is smaller, in per cent of the other or of the larger.

    Negative where the affected one is the larger.

    Examples
    --------
    >>> round(asymmetry_percent(affected_ml=14, other_ml=18, of_larger=False), 1)
    22.2
    """
    denominator = max(affected_ml, other_ml) if of_larger else other_ml
    return 100.0 * (other_ml - affected_ml) / denominator


def testis_size(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Volumes of the latest visit, and the asymmetry towards the stated side."""
    if not facts.testes:
        return (_cannot(("testes",), protocol),)
    visit = _latest(facts.testes)
    volumes = [
        advisory
        for side, size in ((Side.LEFT, visit.left), (Side.RIGHT, visit.right))
        if size is not None
        for advisory in _volumes(side, size, protocol)
    ]
    return (*volumes, _asymmetry(visit, agreed_sides(facts), protocol))


def _latest(visits: tuple[Testes, ...]) -> Testes:
    return max(visits, key=lambda visit: visit.date or dt.date.min)


def _volumes(side: Side, size: TestisSize, protocol: Protocol) -> list[Advisory]:
    axes = _axes(size)
    if axes is None:
        return []
    inputs = {
        "side": side.value,
        **{name.removesuffix("_mm"): f"{value:g} mm" for name, value in axes.items()},
        "accuracy": protocol.choice("testis-volume-formula").note or "not stated",
    }
    return [
        advise(
            rule=rule,
            urgency=Urgency.INFO,
            text=f"Testis volume {side.value} {volume_ml:.1f} mL by {formula}.",
            basis=(source,),
            value=volume_ml,
            unit="mL",
            inputs=inputs,
        )
        for rule, formula, volume_ml, source in (
            (LAMBERT_RULE, "Lambert's formula", lambert_volume_ml(**axes), LAMBERT),
            (ELLIPSOID_RULE, "the ellipsoid formula", ellipsoid_volume_ml(**axes), ELLIPSOID),
        )
    ]


def _axes(size: TestisSize) -> dict[str, float] | None:
    if size.length_mm is None or size.width_mm is None or size.height_mm is None:
        return None
    return {
        "length_mm": size.length_mm,
        "width_mm": size.width_mm,
        "height_mm": size.height_mm,
    }


def volume_ml(size: TestisSize | None, formula: str) -> float | None:
    """Volume in mL by the formula ("lambert", "ellipsoid"), else as stated, else None."""
    axes = None if size is None else _axes(size)
    if axes is None:
        return None if size is None else size.stated_volume_ml
    return lambert_volume_ml(**axes) if formula == "lambert" else ellipsoid_volume_ml(**axes)


def how_measured(size: TestisSize | None, formula: str) -> str:
    """Whether a volume is by the formula or as somebody stated it."""
    return "as stated" if size is None or _axes(size) is None else formula


def denominator_words(protocol: Protocol) -> str:
    """What the site takes the asymmetry as a share of."""
    larger = protocol.choice("testis-asymmetry-denominator").value == "larger"
    return "larger testis" if larger else "testis of the other side"


def _asymmetry(visit: Testes, sides: tuple[Side, ...], protocol: Protocol) -> Advisory:
    formula = protocol.choice("testis-volume-formula").value
    left_ml, right_ml = volume_ml(visit.left, formula), volume_ml(visit.right, formula)
    if len(sides) > 1:
        return _both_sides(protocol)
    if left_ml is None or right_ml is None or not sides:
        missing = [] if left_ml is not None else ["testes.left"]
        missing += [] if right_ml is not None else ["testes.right"]
        missing += [] if sides else ["one agreed side (referral, ultrasound)"]
        return _cannot(tuple(missing), protocol)
    (side,) = sides
    affected_ml, other_ml = (left_ml, right_ml) if side is Side.LEFT else (right_ml, left_ml)
    return _compared(affected_ml, other_ml, side, formula, protocol)


def _compared(
    affected_ml: float, other_ml: float, side: Side, formula: str, protocol: Protocol
) -> Advisory:
    limit = protocol.limit("testis-asymmetry-percent")
    larger = protocol.choice("testis-asymmetry-denominator").value == "larger"
    percent = asymmetry_percent(affected_ml=affected_ml, other_ml=other_ml, of_larger=larger)
    denominator = denominator_words(protocol)
    verdict = "at or above" if percent >= limit.value else "below"
    return advise(
        rule=ASYMMETRY_RULE,
        urgency=Urgency.CAUTION if percent >= limit.value else Urgency.INFO,
        text=f"The {side.value} testis is {percent:.1f} % smaller "
        f"({other_ml - affected_ml:.1f} mL), in per cent of the {denominator}; {verdict} "
        f"{limit.value:g} %.",
        basis=(limit,),
        value=percent,
        limit=limit.value,
        unit="%",
        inputs={
            f"{side.value} (affected)": f"{affected_ml:.1f} mL",
            "other side": f"{other_ml:.1f} mL",
            "formula": formula,
            "in per cent of": denominator,
        },
    )


def _both_sides(protocol: Protocol) -> Advisory:
    return advise(
        rule=ASYMMETRY_RULE,
        urgency=Urgency.INFO,
        text="Testis asymmetry is not given: both sides are affected, and there is no healthy one "
        "to compare with.",
        basis=(protocol.limit("testis-asymmetry-percent"),),
    )


def _cannot(missing: tuple[str, ...], protocol: Protocol) -> Advisory:
    return advise(
        rule=ASYMMETRY_RULE,
        urgency=Urgency.INFO,
        text=f"Testis asymmetry cannot be computed: not recorded: {', '.join(missing)}.",
        basis=(protocol.limit("testis-asymmetry-percent"),),
        missing=missing,
    )
