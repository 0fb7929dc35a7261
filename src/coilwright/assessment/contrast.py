"""How much contrast medium, by rules that were all made for the heart's arteries."""

from collections.abc import Sequence

from coilwright.advice import SHOWN_BESIDE, Advisory, Urgency
from coilwright.assessment.age import age_on_the_day
from coilwright.assessment.contrast_cut_offs import (
    EXTRAPOLATED,
    disagreement,
    ends_of_range,
    other_cut_offs,
    volume_cut_off,
)
from coilwright.assessment.contrast_ratios import ratios_so_far
from coilwright.assessment.facts import Facts
from coilwright.assessment.kidney import EGFR_UNIT, KidneyFunction, unsteady
from coilwright.assessment.totals import left_of, total_urgency
from coilwright.protocol import Basis, Limit, Protocol, advise, louder

CIGARROA_RULE = "contrast-cigarroa"
VOLUME_RULE = "contrast-volume-egfr"
THREE_BOUNDS_RULE = "contrast-three-bounds"
FOLLOWED_BY = {
    "cigarroa": CIGARROA_RULE,
    "volume-per-egfr": VOLUME_RULE,
    "three-bounds": THREE_BOUNDS_RULE,
}


def cigarroa_ml(
    *, weight_kg: float, creatinine_mg_per_dl: float, factor: float, maximum_ml: float
) -> float:
    """Contrast ceiling in mL: factor x weight / creatinine, never above the maximum.

    References
    ----------
    Cigarroa RG et al., Am J Med 1989;86:649-652 (factor 5, maximum 300 mL).

    Examples
    --------
    >>> round(cigarroa_ml(weight_kg=70, creatinine_mg_per_dl=1.8, factor=5, maximum_ml=300), 1)
    194.4
    """
    return min(factor * weight_kg / creatinine_mg_per_dl, maximum_ml)


def contrast_ceilings(
    facts: Facts, kidney: KidneyFunction, protocol: Protocol
) -> tuple[Advisory, ...]:
    """The three volume ceilings, and volume and iodine over kidney function."""
    return (
        _cigarroa(facts, protocol),
        _volume_over_egfr(facts, kidney, protocol),
        _three_bounds(facts, kidney, protocol),
        *ratios_so_far(facts, kidney, protocol),
    )


def _cigarroa(facts: Facts, protocol: Protocol) -> Advisory:
    factor, maximum = protocol.limit("cigarroa-factor"), protocol.limit("cigarroa-maximum")
    weight_kg, creatinine = facts.patient.weight_kg, facts.bloods.creatinine
    if weight_kg is None or creatinine is None:
        missing = [] if weight_kg is not None else ["patient.weight"]
        missing += [] if creatinine is not None else ["bloods.creatinine"]
        why = f"not recorded: {', '.join(missing)}"
        return _cannot(CIGARROA_RULE, "The contrast ceiling", why, (factor, maximum), missing)
    ceiling_ml = cigarroa_ml(
        weight_kg=weight_kg,
        creatinine_mg_per_dl=creatinine.value.to("mg/dL"),
        factor=factor.value,
        maximum_ml=maximum.value,
    )
    return _ceiling(
        CIGARROA_RULE,
        ceiling_ml,
        facts,
        protocol,
        basis=(factor, maximum),
        inputs={"weight": f"{weight_kg:g} kg", "creatinine": str(creatinine.value)},
    )


def _volume_over_egfr(facts: Facts, kidney: KidneyFunction, protocol: Protocol) -> Advisory:
    cut_off = volume_cut_off(protocol)
    if kidney.egfr is None:
        what = "The contrast ceiling by kidney function"
        return _cannot(VOLUME_RULE, what, kidney.why_unknown, (cut_off,), kidney.missing)
    return _ceiling(
        VOLUME_RULE,
        cut_off.value * kidney.egfr,
        facts,
        protocol,
        basis=(cut_off, *ends_of_range(protocol), *kidney.basis),
        inputs={
            "kidney function": f"{kidney.egfr:.1f} {EGFR_UNIT}",
            "cut-off": f"{cut_off.value:g} {cut_off.unit}",
            "other cut-offs": other_cut_offs(protocol),
        },
        words=disagreement(protocol),
    )


def _three_bounds(facts: Facts, kidney: KidneyFunction, protocol: Protocol) -> Advisory:
    ratio = protocol.limit("three-bounds-volume-egfr")
    per_kg, maximum = protocol.limit("three-bounds-per-kg"), protocol.limit("three-bounds-maximum")
    basis, weight_kg = (ratio, per_kg, maximum), facts.patient.weight_kg
    if kidney.egfr is None or weight_kg is None:
        missing = (*(["patient.weight"] if weight_kg is None else []), *kidney.missing)
        unknown = f"not recorded: {', '.join(missing)}" if missing else ""
        why = "; ".join(filter(None, (kidney.refused, unknown)))
        what = "The contrast ceiling by three bounds"
        return _cannot(THREE_BOUNDS_RULE, what, why, basis, missing)
    return _ceiling(
        THREE_BOUNDS_RULE,
        min(ratio.value * kidney.egfr, per_kg.value * weight_kg, maximum.value),
        facts,
        protocol,
        basis=(*basis, *kidney.basis),
        inputs={
            "kidney function": f"{kidney.egfr:.1f} {EGFR_UNIT}",
            "weight": f"{weight_kg:g} kg",
        },
        words=f"The least of {ratio.value:g} times the kidney function, {per_kg.value:g} "
        f"{per_kg.unit} and {maximum.value:g} {maximum.unit}.",
    )


def _ceiling(
    rule: str,
    ceiling_ml: float,
    facts: Facts,
    protocol: Protocol,
    *,
    basis: tuple[Basis, ...],
    inputs: dict[str, str],
    words: str = "",
) -> Advisory:
    given_ml = facts.given.contrast_ml
    child = _child_words(facts, ceiling_ml, protocol)
    quiet = Urgency.CAUTION if unsteady(facts) or child else Urgency.INFO
    followed = FOLLOWED_BY[protocol.choice("contrast-ceiling-rule").value] == rule
    which = "the rule that the site follows" if followed else f"{SHOWN_BESIDE} the site's own rule"
    return advise(
        rule=rule,
        urgency=louder(quiet, total_urgency(given_ml, ceiling_ml, protocol)),
        text=_ceiling_words(facts, ceiling_ml, which, f"{words} {child}".strip()),
        basis=basis,
        value=given_ml,
        limit=ceiling_ml,
        left=left_of(given_ml, ceiling_ml),
        unit="mL",
        inputs={
            **inputs,
            "given": f"{given_ml:g} mL",
            "planned strength": _strength(facts),
            "other rules": ", ".join(other for other in FOLLOWED_BY.values() if other != rule),
        },
    )


def _ceiling_words(facts: Facts, ceiling_ml: float, which: str, words: str) -> str:
    given_ml = facts.given.contrast_ml
    iodine, why = _as_iodine(facts, ceiling_ml), unsteady(facts)
    sentences = (
        f"Contrast ceiling {ceiling_ml:.0f} mL{iodine} ({which}); recorded as given {given_ml:g} "
        f"mL, left {left_of(given_ml, ceiling_ml):.0f} mL.",
        words,
        f"It rests on a creatinine that says too little here: {why}." if why else "",
        EXTRAPOLATED,
    )
    return " ".join(filter(None, sentences))


def _child_words(facts: Facts, ceiling_ml: float, protocol: Protocol) -> str:
    """A rule of adults' hearts gives a boy far more per weight than anybody would inject."""
    age, weight_kg = age_on_the_day(facts.patient.birth_date, facts.on), facts.patient.weight_kg
    if age is None or age >= protocol.limit("ckd-epi-minimum-age").value:
        return ""
    per_kg = "" if weight_kg is None else f" (here {ceiling_ml / weight_kg:.1f} mL/kg)"
    return f"Made for adults, the patient is {age}: no ceiling for a child{per_kg}."


def _as_iodine(facts: Facts, volume_ml: float) -> str:
    """A volume as iodine, where the strength that lies ready is recorded."""
    if facts.contrast is None:
        return ""
    iodine_g = facts.contrast.concentration_mgi_per_ml * volume_ml / 1000.0
    return f", {iodine_g:.1f} gI at the planned {_strength(facts)}"


def _strength(facts: Facts) -> str:
    if facts.contrast is None:
        return "not recorded"
    return f"{facts.contrast.concentration_mgi_per_ml:g} mgI/mL"


def _cannot(
    rule: str, what: str, why: str, basis: tuple[Limit, ...], missing: Sequence[str]
) -> Advisory:
    return advise(
        rule=rule,
        urgency=Urgency.CAUTION,
        text=f"{what} cannot be computed: {why}.",
        basis=basis,
        missing=missing,
    )
