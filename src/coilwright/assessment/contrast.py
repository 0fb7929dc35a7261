"""How much contrast medium, by rules that were all made for the heart's arteries."""

from collections.abc import Sequence

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.facts import Facts
from coilwright.assessment.kidney import EGFR_UNIT, KidneyFunction
from coilwright.assessment.totals import left_of, total_urgency
from coilwright.protocol import Basis, Limit, Protocol, advise, louder

CIGARROA_RULE = "contrast-cigarroa"
VOLUME_RULE = "contrast-volume-egfr"
RATIO_RULE = "contrast-volume-egfr-ratio"
IODINE_RULE = "iodine-per-egfr"
FOLLOWED_BY = {"cigarroa": CIGARROA_RULE, "volume-per-egfr": VOLUME_RULE}
EXTRAPOLATED = "Extrapolated: from intra-arterial coronary work, not from venography."


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
    """The two volume ceilings, and volume and iodine over kidney function."""
    return (
        _cigarroa(facts, protocol),
        _volume_over_egfr(facts, kidney, protocol),
        *_ratios_so_far(facts, kidney, protocol),
    )


def _cigarroa(facts: Facts, protocol: Protocol) -> Advisory:
    factor, maximum = protocol.limit("cigarroa-factor"), protocol.limit("cigarroa-maximum")
    weight_kg, creatinine = facts.patient.weight_kg, facts.bloods.creatinine
    if weight_kg is None or creatinine is None:
        missing = [] if weight_kg is not None else ["patient.weight"]
        missing += [] if creatinine is not None else ["bloods.creatinine"]
        return _cannot(CIGARROA_RULE, "The contrast ceiling", missing, (factor, maximum))
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
    cut_off = _volume_cut_off(protocol)
    if kidney.egfr is None:
        return _cannot(
            VOLUME_RULE, "The contrast ceiling by kidney function", kidney.missing, (cut_off,)
        )
    return _ceiling(
        VOLUME_RULE,
        cut_off.value * kidney.egfr,
        facts,
        protocol,
        basis=(cut_off, *kidney.basis),
        inputs={
            "kidney function": f"{kidney.egfr:.1f} {EGFR_UNIT}",
            "cut-off": f"{cut_off.value:g} {cut_off.unit}",
        },
    )


def _ceiling(
    rule: str,
    ceiling_ml: float,
    facts: Facts,
    protocol: Protocol,
    *,
    basis: tuple[Basis, ...],
    inputs: dict[str, str],
) -> Advisory:
    given_ml = facts.given.contrast_ml
    followed = FOLLOWED_BY[protocol.choice("contrast-ceiling-rule").value] == rule
    which = "the rule that the site follows" if followed else "shown beside the site's own rule"
    return advise(
        rule=rule,
        urgency=total_urgency(given_ml, ceiling_ml, protocol),
        text=f"Contrast ceiling {ceiling_ml:.0f} mL ({which}); recorded as given {given_ml:g} mL, "
        f"left {left_of(given_ml, ceiling_ml):.0f} mL. {EXTRAPOLATED}",
        basis=basis,
        value=given_ml,
        limit=ceiling_ml,
        unit="mL",
        inputs={**inputs, "given": f"{given_ml:g} mL"},
    )


def _volume_cut_off(protocol: Protocol) -> Limit:
    chosen = protocol.choice("contrast-volume-egfr-cut-off").value
    return protocol.limit(f"contrast-volume-egfr-{chosen}")


def _ratios_so_far(
    facts: Facts, kidney: KidneyFunction, protocol: Protocol
) -> tuple[Advisory, ...]:
    if kidney.egfr is None or not facts.given.contrast:
        return ()
    return (
        _volume_ratio(facts.given.contrast_ml / kidney.egfr, kidney, protocol),
        _iodine_ratio(facts.given.iodine_g / kidney.egfr, kidney, protocol),
    )


def _volume_ratio(ratio: float, kidney: KidneyFunction, protocol: Protocol) -> Advisory:
    lowest, cut_off = protocol.limit("contrast-volume-egfr-lowest"), _volume_cut_off(protocol)
    urgency = Urgency.CAUTION if ratio >= lowest.value else Urgency.INFO
    if ratio >= cut_off.value:
        urgency = louder(urgency, Urgency.STOP_AND_THINK)
    return advise(
        rule=RATIO_RULE,
        urgency=urgency,
        text=f"Contrast so far is {ratio:.2f} times the kidney function; the lowest published "
        f"cut-off is {lowest.value:g}, the site's {cut_off.value:g}. {EXTRAPOLATED}",
        basis=(lowest, cut_off, *kidney.basis),
        value=ratio,
        limit=cut_off.value,
        unit=cut_off.unit,
        inputs={"kidney function": f"{kidney.egfr:.1f} {EGFR_UNIT}"},
    )


def _iodine_ratio(ratio: float, kidney: KidneyFunction, protocol: Protocol) -> Advisory:
    chosen = protocol.choice("iodine-per-egfr-cut-off")
    cut_off = protocol.limit(f"iodine-per-egfr-{chosen.value}")
    others = [protocol.limit(f"iodine-per-egfr-{option}").value for option in chosen.options]
    return advise(
        rule=IODINE_RULE,
        urgency=total_urgency(ratio, cut_off.value, protocol),
        text=f"Iodine so far over kidney function is {ratio:.2f}; the site's cut-off is "
        f"{cut_off.value:g} (those in use run from {min(others):g} to {max(others):g}). "
        f"{EXTRAPOLATED}",
        basis=(cut_off, *kidney.basis),
        value=ratio,
        limit=cut_off.value,
        unit=cut_off.unit,
        inputs={"kidney function": f"{kidney.egfr:.1f} {EGFR_UNIT}"},
    )


def _cannot(rule: str, what: str, missing: Sequence[str], basis: tuple[Limit, ...]) -> Advisory:
    return advise(
        rule=rule,
        urgency=Urgency.CAUTION,
        text=f"{what} cannot be computed: not recorded: {', '.join(missing)}.",
        basis=basis,
        missing=missing,
    )
