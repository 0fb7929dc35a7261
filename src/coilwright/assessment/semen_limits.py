"""One semen sample against the lower reference limits of an edition of the WHO manual.

The limits are the fifth centile of fertile men, not a line between fertile and infertile.
"""

from coilwright.assessment.cut_offs import at_least
from coilwright.assessment.facts import Facts
from coilwright.assessment.findings import SemenSample
from coilwright.protocol import Choice, Limit, Protocol

# Without these four nothing can be called normal; the total number follows from the first two, and
# vitality is counted only where motility is low (common practice, no source).
NEEDED_FOR_NORMAL = ("volume", "concentration", "progressive motility", "normal forms")
OF_THE_SPERM = ("total motility", "progressive motility", "vitality", "normal forms")


def edition_choice(protocol: Protocol) -> Choice:
    """Which edition the site follows."""
    return protocol.choice("semen-reference-edition")


def edition_name(edition: str) -> str:
    """An edition as it is spoken of.

    Examples
    --------
    >>> edition_name("who-2021")
    'WHO 2021'
    """
    return edition.upper().replace("-", " ")


def sample_values(sample: SemenSample) -> dict[str, float | None]:
    """Every parameter that has a reference limit, in the limit's unit; None where not recorded.

    Where no sperm were found there is nothing whose motility, vitality or form could be missing:
    those parameters are left out.
    """
    volume_ml, concentration = sample.volume_ml, sample.concentration_million_per_ml
    total = None if volume_ml is None or concentration is None else volume_ml * concentration
    values = {
        "volume": volume_ml,
        "concentration": concentration,
        "total number": total,
        "total motility": sample.total_motility_percent,
        "progressive motility": sample.progressive_motility_percent,
        "vitality": sample.vitality_percent,
        "normal forms": sample.normal_forms_percent,
    }
    if concentration == 0:
        return {what: value for what, value in values.items() if what not in OF_THE_SPERM}
    return values


def reference_limit(edition: str, what: str, protocol: Protocol) -> Limit:
    """The lower reference limit of one parameter in one edition."""
    return protocol.limit(f"{edition}-{what.replace(' ', '-')}")


def below_limits(sample: SemenSample, edition: str, protocol: Protocol) -> tuple[str, ...]:
    """The recorded parameters that lie below their limits; at the limit is not below it."""
    return tuple(
        what
        for what, value in sample_values(sample).items()
        if value is not None and not at_least(value, reference_limit(edition, what, protocol).value)
    )


def judged_abnormal(sample: SemenSample, edition: str, protocol: Protocol) -> bool | None:
    """Whether any parameter lies below its limit; None where too little is recorded to say no."""
    if below_limits(sample, edition, protocol):
        return True
    return None if needed_and_missing(sample) else False


def needed_and_missing(sample: SemenSample) -> tuple[str, ...]:
    """The parameters without which a sample cannot be called normal, of those not recorded."""
    values = sample_values(sample)
    return tuple(what for what in NEEDED_FOR_NORMAL if what in values and values[what] is None)


def latest_sample(facts: Facts) -> tuple[int, SemenSample] | None:
    """Place and value of the latest dated sample, or of the only one.

    None where there is none, or where several samples without a date leave open which came last.
    """
    dated = [
        (sample.date, place) for place, sample in enumerate(facts.semen) if sample.date is not None
    ]
    if dated:
        place = max(dated)[1]
        return place, facts.semen[place]
    return (0, facts.semen[0]) if len(facts.semen) == 1 else None
