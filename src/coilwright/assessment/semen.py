"""Semen against the reference limits of one edition, and the two motile counts kept apart.

The limits are the fifth centile of fertile men, not a line between fertile and infertile.
"""

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.facts import Facts, SemenSample
from coilwright.protocol import Citation, Protocol, advise

REFERENCE_RULE = "semen-reference-limits"
TOTAL_RULE = "total-motile-count"
PROGRESSIVE_RULE = "progressive-motile-count"
COUNT = Citation(
    source="volume x concentration x motility, as worked on a published page on total motile count",
    status=Status.PUBLISHED,
)
CENTILE = "The limits are the fifth centile of fertile men, not a line between fertile and not."


def motile_count_million(
    *, volume_ml: float, concentration_million_per_ml: float, motility_percent: float
) -> float:
    """Motile sperm of one ejaculate in millions.

    Examples
    --------
    >>> round(motile_count_million(
    ...     volume_ml=3, concentration_million_per_ml=80, motility_percent=66), 1)
    158.4
    """
    return volume_ml * concentration_million_per_ml * motility_percent / 100.0


def semen_analysis(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Reference limits and both counts for every sample."""
    edition = protocol.choice("semen-reference-edition").value
    if not facts.semen:
        return (
            advise(
                rule=REFERENCE_RULE,
                urgency=Urgency.INFO,
                text="Semen cannot be judged: not recorded: semen.",
                basis=(protocol.limit(f"{edition}-concentration"),),
                missing=("semen",),
            ),
        )
    return tuple(
        advisory
        for place, sample in enumerate(facts.semen)
        for advisory in _of_sample(place, sample, edition, protocol)
    )


def _of_sample(place: int, sample: SemenSample, edition: str, protocol: Protocol) -> list[Advisory]:
    name = f"sample {place + 1}" if sample.date is None else f"sample of {sample.date.isoformat()}"
    key = f"semen[{place}]"
    return [
        _against_limits(name, key, sample, edition, protocol),
        _count(name, key, sample, "total_motility", sample.total_motility_percent),
        _count(name, key, sample, "progressive_motility", sample.progressive_motility_percent),
    ]


def _against_limits(
    name: str, key: str, sample: SemenSample, edition: str, protocol: Protocol
) -> Advisory:
    values = _values(sample)
    limits = {what: protocol.limit(f"{edition}-{what.replace(' ', '-')}") for what in values}
    below, missing, inputs = [], [], {}
    for what, value in values.items():
        limit = limits[what]
        if value is None:
            missing.append(f"{key}.{what.replace(' ', '_')}")
            continue
        inputs[what] = f"{value:g} {limit.unit}"
        if value < limit.value:
            below.append(f"{what} {value:g} {limit.unit} (limit {limit.value:g})")
    found = f"below the limit: {', '.join(below)}" if below else "none below its limit"
    absent = f" Not recorded: {', '.join(missing)}." if missing else ""
    return advise(
        rule=REFERENCE_RULE,
        urgency=Urgency.INFO,
        text=f"Semen {name}, {edition.upper().replace('-', ' ')}: {found}. {CENTILE}{absent}",
        basis=tuple(limits.values()),
        inputs=inputs,
        missing=missing,
    )


def _values(sample: SemenSample) -> dict[str, float | None]:
    volume_ml, concentration = sample.volume_ml, sample.concentration_million_per_ml
    total = None if volume_ml is None or concentration is None else volume_ml * concentration
    return {
        "volume": volume_ml,
        "concentration": concentration,
        "total number": total,
        "total motility": sample.total_motility_percent,
        "progressive motility": sample.progressive_motility_percent,
        "vitality": sample.vitality_percent,
        "normal forms": sample.normal_forms_percent,
    }


def _count(
    name: str, key: str, sample: SemenSample, motility: str, percent: float | None
) -> Advisory:
    rule = TOTAL_RULE if motility == "total_motility" else PROGRESSIVE_RULE
    which = "Total" if rule == TOTAL_RULE else "Progressively"
    volume_ml, concentration = sample.volume_ml, sample.concentration_million_per_ml
    if volume_ml is None or concentration is None or percent is None:
        needed = {"volume": volume_ml, "concentration": concentration, motility: percent}
        missing = tuple(f"{key}.{name}" for name, value in needed.items() if value is None)
        text = f"{which} motile count of the {name} cannot be computed: not recorded: "
        return advise(
            rule=rule,
            urgency=Urgency.INFO,
            text=f"{text}{', '.join(missing)}.",
            basis=(COUNT,),
            missing=missing,
        )
    count = motile_count_million(
        volume_ml=volume_ml, concentration_million_per_ml=concentration, motility_percent=percent
    )
    return advise(
        rule=rule,
        urgency=Urgency.INFO,
        text=f"{which} motile count of the {name} {count:.1f} million; no single limit is agreed.",
        basis=(COUNT,),
        value=count,
        unit="10^6",
        inputs={
            "volume": f"{volume_ml:g} mL",
            "concentration": f"{concentration:g} 10^6/mL",
            motility.replace("_", " "): f"{percent:g} %",
        },
    )
