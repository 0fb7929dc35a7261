"""Semen against the reference limits of the edition that the site follows, and both motile counts.

Where another edition judges a value differently, both judgements stand.
"""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.facts import Facts
from coilwright.assessment.findings import SemenSample
from coilwright.assessment.motile_count import COUNT, count_of_sample_million
from coilwright.assessment.semen_limits import (
    below_limits,
    edition_choice,
    edition_name,
    judged_abnormal,
    latest_sample,
    reference_limit,
    sample_values,
)
from coilwright.protocol import COMMON_PRACTICE, Limit, Protocol, advise

REFERENCE_RULE = "semen-reference-limits"
AZOOSPERMIA_RULE = "semen-azoospermia"
TOTAL_RULE = "total-motile-count"
PROGRESSIVE_RULE = "progressive-motile-count"
CENTILE = "The limits are the fifth centile of fertile men, not a line between fertile and not."


def semen_analysis(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Reference limits and both counts for every sample."""
    if not facts.semen:
        return (
            advise(
                rule=REFERENCE_RULE,
                urgency=Urgency.INFO,
                text="Semen cannot be judged: not recorded: semen.",
                basis=(edition_choice(protocol),),
                missing=("semen",),
            ),
        )
    return tuple(
        advisory
        for place, sample in enumerate(facts.semen)
        for advisory in _of_sample(place, sample, protocol)
    )


def semen_abnormal(facts: Facts, protocol: Protocol) -> bool | None:
    """Whether the latest sample has any parameter below its limit by the site's edition.

    None where it cannot be judged: no sample, no sample known to be the latest, or nothing below
    its limit while volume, concentration, progressive motility or normal forms are not recorded.
    """
    latest = latest_sample(facts)
    if latest is None:
        return None
    return judged_abnormal(latest[1], edition_choice(protocol).value, protocol)


def azoospermic(facts: Facts) -> bool | None:
    """Whether the latest sample holds no sperm; None where no concentration is recorded."""
    latest = latest_sample(facts)
    concentration = None if latest is None else latest[1].concentration_million_per_ml
    return None if concentration is None else concentration == 0


def sample_name(place: int, sample: SemenSample) -> str:
    """A sample by its date, or by its place in the case where it has none."""
    return f"sample {place + 1}" if sample.date is None else f"sample of {sample.date.isoformat()}"


def _of_sample(place: int, sample: SemenSample, protocol: Protocol) -> list[Advisory]:
    name, key = sample_name(place, sample), f"semen[{place}]"
    return [
        _against_limits(name, key, sample, protocol),
        *_azoospermia(name, sample),
        _count(name, key, sample, "total_motility", sample.total_motility_percent),
        _count(name, key, sample, "progressive_motility", sample.progressive_motility_percent),
    ]


def _against_limits(name: str, key: str, sample: SemenSample, protocol: Protocol) -> Advisory:
    choice = edition_choice(protocol)
    values = sample_values(sample)
    limits = {what: reference_limit(choice.value, what, protocol) for what in values}
    missing = [f"{key}.{w.replace(' ', '_')}" for w, value in values.items() if value is None]
    below = ", ".join(
        _beside(values[what], limits[what]) for what in below_limits(sample, choice.value, protocol)
    )
    differ, other_limits = _other_editions(sample, protocol)
    absent = f" Not recorded: {', '.join(missing)}." if missing else ""
    return advise(
        rule=REFERENCE_RULE,
        urgency=Urgency.INFO,
        text=f"Semen {name}, by the edition that the site follows, {edition_name(choice.value)}: "
        f"{_found(below, missing, values)}.{differ} {CENTILE}{absent}",
        basis=(choice, *limits.values(), *other_limits),
        inputs={
            "edition": edition_name(choice.value),
            **{
                what: f"{value:.6g} {limits[what].unit}"
                for what, value in values.items()
                if value is not None
            },
        },
        missing=missing,
    )


def _found(below: str, missing: list[str], values: dict[str, float | None]) -> str:
    if below:
        return f"below the limit: {below}"
    if len(missing) == len(values):
        return "nothing to judge"
    return "none of what is recorded below its limit" if missing else "none below its limit"


def _beside(value: float | None, limit: Limit) -> str:
    return f"{_parameter(limit)} {value:.6g} {limit.unit} (limit {limit.value:g})"


def _parameter(limit: Limit) -> str:
    """The parameter's name out of the limit's id: "who-2021-total-number" is "total number"."""
    return " ".join(limit.id.split("-")[2:])


def _other_editions(sample: SemenSample, protocol: Protocol) -> tuple[str, list[Limit]]:
    """What the editions that the site does not follow judge differently, and by which limits."""
    choice = edition_choice(protocol)
    here = set(below_limits(sample, choice.value, protocol))
    sentences: list[str] = []
    used: list[Limit] = []
    for edition in choice.options:
        there = set(below_limits(sample, edition, protocol))
        values = {what: v for what, v in sample_values(sample).items() if what in here ^ there}
        limits = {what: reference_limit(edition, what, protocol) for what in values}
        phrases = [
            f"{_beside(value, limits[what])} {'is' if what in there else 'is not'} below"
            for what, value in values.items()
        ]
        if phrases:
            sentences.append(f" {edition_name(edition)} judges otherwise: {', '.join(phrases)}.")
            used += limits.values()
    return "".join(sentences), used


def _azoospermia(name: str, sample: SemenSample) -> list[Advisory]:
    if sample.concentration_million_per_ml != 0:
        return []
    return [
        advise(
            rule=AZOOSPERMIA_RULE,
            urgency=Urgency.CAUTION,
            text=f"Semen {name}: concentration 0, azoospermia as recorded. It is usual to confirm "
            "it in a second sample, spun down, and to look for another cause; recommendations on "
            "treating a varicocele do not agree on azoospermia.",
            basis=(COMMON_PRACTICE,),
            inputs={"concentration": "0 10^6/mL"},
        )
    ]


def _count(
    name: str, key: str, sample: SemenSample, motility: str, percent: float | None
) -> Advisory:
    rule = TOTAL_RULE if motility == "total_motility" else PROGRESSIVE_RULE
    which = "Total" if rule == TOTAL_RULE else "Progressively"
    count = count_of_sample_million(sample, percent)
    factors = {
        "volume": (sample.volume_ml, "mL"),
        "concentration": (sample.concentration_million_per_ml, "10^6/mL"),
        motility: (percent, "%"),
    }
    if count is None:
        missing = tuple(
            f"{key}.{factor}" for factor, (value, _) in factors.items() if value is None
        )
        return advise(
            rule=rule,
            urgency=Urgency.INFO,
            text=f"{which} motile count of the {name} cannot be computed: not recorded: "
            f"{', '.join(missing)}.",
            basis=(COUNT,),
            missing=missing,
        )
    return advise(
        rule=rule,
        urgency=Urgency.INFO,
        text=f"{which} motile count of the {name} {count:.1f} million; no single limit is agreed.",
        basis=(COUNT,),
        value=count,
        unit="10^6",
        inputs={
            factor.replace("_", " "): f"{value:g} {unit}"
            for factor, (value, unit) in factors.items()
            if value is not None
        },
    )
