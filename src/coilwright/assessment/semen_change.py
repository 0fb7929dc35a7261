"""What changed from one semen sample to the next, and whether the two may be compared."""

from itertools import pairwise

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.facts import Facts
from coilwright.assessment.findings import SemenSample
from coilwright.assessment.motile_count import COUNT, count_of_sample_million
from coilwright.assessment.semen import sample_name
from coilwright.assessment.semen_limits import OF_THE_SPERM
from coilwright.protocol import COMMON_PRACTICE, Protocol, advise

CHANGE_RULE = "semen-change"
ABSTINENCE_RULE = "semen-abstinence"
SECOND_RULE = "semen-second-sample"

# A sample with its place in the case, from which its key is named.
Placed = tuple[int, SemenSample]


def semen_change(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Each dated sample against the one before it; nothing where there is no sample."""
    placed = list(enumerate(facts.semen))
    if len(placed) == 1:
        return (_second_is_usual(), *_abstinence(placed, protocol))
    dated = sorted(
        (one for one in placed if one[1].date is not None),
        key=lambda one: str(one[1].date),
    )
    advisories: list[Advisory] = []
    for before, after in pairwise(dated):
        advisories += [_change(before, after, protocol), *_abstinence([before, after], protocol)]
    undated = [place for place, sample in placed if sample.date is None]
    return (*advisories, *_undated(undated))


def change_percent(before: float, after: float) -> float | None:
    """The difference in per cent of the first value; None where that is nothing.

    Examples
    --------
    >>> change_percent(8.0, 10.0)
    25.0
    """
    return None if before == 0 else 100.0 * (after - before) / before


def _second_is_usual() -> Advisory:
    return advise(
        rule=SECOND_RULE,
        urgency=Urgency.INFO,
        text="One semen sample alone: a second is usual before anything is decided on it, for "
        "samples of one man vary.",
        basis=(COMMON_PRACTICE,),
        inputs={"samples": "1"},
    )


def _undated(places: list[int]) -> list[Advisory]:
    if not places:
        return []
    missing = tuple(f"semen[{place}].date" for place in places)
    return [
        advise(
            rule=CHANGE_RULE,
            urgency=Urgency.INFO,
            text="Semen samples without a date cannot be put in order and are compared with none. "
            f"Not recorded: {', '.join(missing)}.",
            basis=(COMMON_PRACTICE,),
            missing=missing,
        )
    ]


def _quantities(sample: SemenSample) -> dict[str, tuple[float | None, str]]:
    return {
        "volume": (sample.volume_ml, "mL"),
        "concentration": (sample.concentration_million_per_ml, "10^6/mL"),
        "total motile count": (
            count_of_sample_million(sample, sample.total_motility_percent),
            "10^6",
        ),
        "progressive motile count": (
            count_of_sample_million(sample, sample.progressive_motility_percent),
            "10^6",
        ),
    }


def _change(before: Placed, after: Placed, protocol: Protocol) -> Advisory:
    cycle = protocol.limit("spermatogenic-cycle")
    days = _days_between(before[1], after[1])
    phrases, inputs = _compared(before[1], after[1])
    missing = (*_absent(before), *_absent(after))
    cannot = f" Not recorded: {', '.join(missing)}." if missing else ""
    found = f" {'; '.join(phrases)}." if phrases else " Nothing is recorded in both."
    return advise(
        rule=CHANGE_RULE,
        urgency=Urgency.INFO,
        text=f"Semen from the {sample_name(*before)} to the {sample_name(*after)}:{found} "
        f"{_apart(days, cycle.value)} Two samples show a difference, not its cause.{cannot}",
        basis=(COUNT, cycle),
        value=float(days),
        limit=cycle.value,
        unit=cycle.unit,
        inputs={
            **inputs,
            "days between": f"{days} d",
            "abstinence before": _abstinence_words(before[1]),
            "abstinence after": _abstinence_words(after[1]),
        },
        missing=missing,
    )


def _days_between(before: SemenSample, after: SemenSample) -> int:
    if before.date is None or after.date is None:
        raise ValueError("only dated samples lie some days apart")
    return (after.date - before.date).days


def _apart(days: int, cycle_d: float) -> str:
    if days < cycle_d:
        return (
            f"They lie {days} d apart, less than one spermatogenic cycle (about {cycle_d:g} d): "
            "they do not show the effect of a change made between them."
        )
    return f"They lie {days} d apart; one spermatogenic cycle takes about {cycle_d:g} d."


def _compared(before: SemenSample, after: SemenSample) -> tuple[list[str], dict[str, str]]:
    """How each quantity went, as phrases and as inputs; without those not recorded in both."""
    phrases, inputs = [], {}
    later = _quantities(after)
    for what, (first, unit) in _quantities(before).items():
        second = later[what][0]
        if first is None or second is None:
            continue
        difference, percent = second - first, change_percent(first, second)
        share = "no per cent of nothing" if percent is None else f"{percent:+.0f} %"
        phrases.append(f"{what} {first:.4g} to {second:.4g} {unit} ({difference:+.4g}, {share})")
        inputs[f"{what} before"] = f"{first:.6g} {unit}"
        inputs[f"{what} after"] = f"{second:.6g} {unit}"
        inputs[f"{what} difference"] = f"{difference:+.6g} {unit}"
        inputs[f"{what} change"] = share if percent is None else f"{percent:+.6g} %"
    return phrases, inputs


def _absent(one: Placed) -> tuple[str, ...]:
    place, sample = one
    factors = {
        "volume": sample.volume_ml,
        "concentration": sample.concentration_million_per_ml,
        "total motility": sample.total_motility_percent,
        "progressive motility": sample.progressive_motility_percent,
    }
    no_sperm = sample.concentration_million_per_ml == 0
    return tuple(
        f"semen[{place}].{what.replace(' ', '_')}"
        for what, value in factors.items()
        if value is None and not (no_sperm and what in OF_THE_SPERM)
    )


def _abstinence_words(sample: SemenSample) -> str:
    return "not recorded" if sample.abstinence_d is None else f"{sample.abstinence_d:g} d"


def _abstinence(samples: list[Placed], protocol: Protocol) -> list[Advisory]:
    """Why the abstinence makes a comparison unsafe; nothing where it does not."""
    shortest = protocol.limit("semen-abstinence-shortest")
    longest = protocol.limit("semen-abstinence-longest")
    stated = [s.abstinence_d for _, s in samples if s.abstinence_d is not None]
    outside = [f"{d:g} d" for d in stated if not shortest.value <= d <= longest.value]
    alone = len(samples) == 1
    missing = () if alone else _without_abstinence(samples)
    reasons = [
        "it differs" if len(set(stated)) > 1 else "",
        f"not recorded: {', '.join(missing)}" if missing else "",
        f"{' and '.join(outside)} outside {shortest.value:g} to {longest.value:g} d"
        if outside
        else "",
    ]
    if not any(reasons):
        return []
    names = " and the ".join(sample_name(*one) for one in samples)
    against = "with the reference limits" if alone else "with each other"
    return [
        advise(
            rule=ABSTINENCE_RULE,
            urgency=Urgency.CAUTION if outside else Urgency.INFO,
            text=f"Abstinence makes it unsafe to compare the {names} {against}: "
            f"{'; '.join(filter(None, reasons))}. Volume and count rise with abstinence.",
            # The range, which is from memory, is leant on only where something lies outside it.
            basis=(COMMON_PRACTICE, shortest, longest) if outside else (COMMON_PRACTICE,),
            inputs={f"semen[{p}].abstinence": _abstinence_words(s) for p, s in samples},
            missing=missing,
        )
    ]


def _without_abstinence(samples: list[Placed]) -> tuple[str, ...]:
    return tuple(f"semen[{p}].abstinence" for p, s in samples if s.abstinence_d is None)
