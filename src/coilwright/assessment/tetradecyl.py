"""Sodium tetradecyl sulfate: volume in the session and in one injection, by the label followed."""

from collections.abc import Sequence

from coilwright.advice import Advisory
from coilwright.assessment.facts import Facts
from coilwright.assessment.given import SclerosantDrug, SclerosantGiven
from coilwright.assessment.sclerosant_volume import (
    OFF_LABEL,
    doses_of,
    known_mass_mg,
    largest_urgency,
    session_volume,
)
from coilwright.protocol import Limit, Protocol, advise

STS_RULE = "sts-session-max"
STS_INJECTION_RULE = "sts-injection-max"
NAME = "Sodium tetradecyl sulfate"
UK_FORMS = {"strong": "of strong liquid", "weak": "of weaker liquid", "foam": "of foam"}


def tetradecyl_totals(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """The session's total by the label followed; by the US label, one injection too."""
    doses = doses_of(SclerosantDrug.STS, facts)
    if protocol.choice("sts-label").value == "us-label":
        return _by_us_label(doses, protocol), _one_injection(doses, protocol)
    return _by_uk_label(facts, doses, protocol)


def _by_us_label(doses: Sequence[SclerosantGiven], protocol: Protocol) -> Advisory:
    return session_volume(
        rule=STS_RULE,
        what=NAME,
        given_ml=_volume_ml(doses),
        limit=protocol.limit("sts-us-session-maximum"),
        protocol=protocol,
        words=(f"Labels disagree: by the UK summary {_uk_words(protocol)}.",),
        inputs=_mass(doses),
    )


def _by_uk_label(
    facts: Facts, doses: Sequence[SclerosantGiven], protocol: Protocol
) -> tuple[Advisory, ...]:
    by_form = _by_form(facts, doses, protocol)
    limits = {form: protocol.limit(f"sts-uk-{form}-session-maximum") for form in by_form}
    share = sum(_volume_ml(of_form) / limits[form].value for form, of_form in by_form.items())
    us = protocol.limit("sts-us-session-maximum")
    words = (
        f"Labels disagree: by the US label {us.value:g} mL of any strength.",
        "No volume of one injection by the UK summary is held here.",
    )
    return tuple(
        session_volume(
            rule=STS_RULE,
            what=f"{NAME} ({form})",
            given_ml=_volume_ml(of_form),
            limit=limits[form],
            protocol=protocol,
            words=words,
            inputs=_mass(of_form),
            share=share if len(by_form) > 1 else None,
        )
        for form, of_form in by_form.items()
    )


def _by_form(
    facts: Facts, doses: Sequence[SclerosantGiven], protocol: Protocol
) -> dict[str, list[SclerosantGiven]]:
    strong_from = protocol.limit("sts-uk-strong-from")
    by_form: dict[str, list[SclerosantGiven]] = {}
    for dose in doses:
        foam = dose.gas_ml > 0 or dose.microfoam_ml > 0
        by_form.setdefault(_uk_form(dose.strength_mg_per_ml, foam, strong_from), []).append(dose)
    planned = facts.sclerosant
    if planned is not None and planned.drug is SclerosantDrug.STS:
        form = _uk_form(planned.strength_mg_per_ml, bool(planned.foam), strong_from)
        by_form.setdefault(form, [])
    return by_form


def _uk_form(strength_mg_per_ml: float, foam: bool, strong_from: Limit) -> str:
    if foam:
        return "foam"
    return "strong" if strength_mg_per_ml >= strong_from.value else "weak"


def _uk_words(protocol: Protocol) -> str:
    found = []
    for form, words in UK_FORMS.items():
        limit = protocol.limit(f"sts-uk-{form}-session-maximum")
        found.append(f"{limit.value:g} mL {words}{'' if limit.stands else ' (from memory)'}")
    return ", ".join(found)


def _one_injection(doses: Sequence[SclerosantGiven], protocol: Protocol) -> Advisory:
    """The US label speaks of liquid: of foam, the liquid is counted, and that is said."""
    least, preferred, most, test = (
        protocol.limit(f"sts-us-{name}")
        for name in ("injection-least", "injection-preferred", "injection-maximum", "test-dose")
    )
    largest_ml = max((dose.liquid_ml for dose in doses), default=None)
    words = (
        f"{NAME}: {least.value:g} to {most.value:g} mL in one injection, preferably "
        f"{preferred.value:g} mL or less, by the US label; it asks for a test dose of "
        f"{test.value:g} mL first.",
        _largest_words(largest_ml, doses),
        _test_words(doses, test),
        OFF_LABEL,
    )
    return advise(
        rule=STS_INJECTION_RULE,
        urgency=largest_urgency(largest_ml or 0.0, preferred.value, most.value),
        text=" ".join(filter(None, words)),
        basis=(least, preferred, most, test),
        value=largest_ml,
        limit=most.value,
        unit="mL",
        inputs={
            f"injection {number}": f"{dose.liquid_ml:g} mL of liquid"
            for number, dose in enumerate(doses, start=1)
        },
    )


def _largest_words(largest_ml: float | None, doses: Sequence[SclerosantGiven]) -> str:
    if largest_ml is None:
        return ""
    foam = any(dose.gas_ml > 0 or dose.microfoam_ml > 0 for dose in doses)
    of_foam = " The label does not speak of foam: its liquid alone is counted." if foam else ""
    return f"Largest recorded injection {largest_ml:g} mL.{of_foam}"


def _test_words(doses: Sequence[SclerosantGiven], test: Limit) -> str:
    if not doses or doses[0].liquid_ml <= test.value:
        return ""
    return "The first recorded injection was larger than the test dose."


def _volume_ml(doses: Sequence[SclerosantGiven]) -> float:
    return sum((dose.injected_ml for dose in doses), 0.0)


def _mass(doses: Sequence[SclerosantGiven]) -> dict[str, str]:
    return {"mass given": f"{known_mass_mg(doses):g} mg"}
