"""A published recommendation, what the case says to it, and the advisory that tells so."""

from dataclasses import dataclass
from enum import StrEnum

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.age import age_on_the_day
from coilwright.assessment.criterion import Criterion, all_hold, any_holds, asked
from coilwright.assessment.facts import Facts, Sex
from coilwright.protocol import Basis, Citation, Protocol, advise

AGE_LIMIT = "adolescent-age-below"


class Verdict(StrEnum):
    """What a case says to a recommendation."""

    MET = "met"
    NOT_MET = "not met"
    CANNOT_BE_JUDGED = "cannot be judged"
    DOES_NOT_APPLY = "does not apply"


class Joined(StrEnum):
    """Whether a recommendation asks for all of its conditions or for any of them."""

    ALL = "all"
    ANY = "any"


@dataclass(frozen=True, slots=True, kw_only=True)
class Recommendation:
    """One recommendation with its conditions as one case answers them.

    ``against`` marks advice not to treat: it is met where its conditions hold. ``rider`` is a
    sentence that the case calls for.
    """

    rule: str
    name: str
    says: str
    basis: tuple[Basis, ...]
    criteria: tuple[Criterion, ...]
    joined: Joined = Joined.ALL
    for_adults: bool = True
    against: bool = False
    rider: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A recommendation, the verdict, and the conditions that decide it."""

    recommendation: Recommendation
    verdict: Verdict
    deciding: tuple[Criterion, ...]
    scope: tuple[Criterion, ...]

    @property
    def missing(self) -> tuple[str, ...]:
        """What would have to be recorded for a verdict; nothing where there is one."""
        if self.verdict is not Verdict.CANNOT_BE_JUDGED:
            return ()
        return tuple(dict.fromkeys(key for one in self.deciding for key in one.missing))


def judge(recommendation: Recommendation, facts: Facts, protocol: Protocol) -> Judged:
    """The verdict of one case; outside its age or sex a recommendation does not apply."""
    scope = _scope(recommendation, facts, protocol)
    in_scope = all_hold([one.answer for one in scope])
    joins = all_hold if recommendation.joined is Joined.ALL else any_holds
    answer = joins([one.answer for one in recommendation.criteria])
    if in_scope is False:
        verdict, deciding = Verdict.DOES_NOT_APPLY, [one for one in scope if one.answer is False]
    elif answer is False:
        verdict = Verdict.NOT_MET
        deciding = [one for one in recommendation.criteria if one.answer is False]
    elif answer is None or in_scope is None:
        verdict = Verdict.CANNOT_BE_JUDGED
        deciding = [one for one in (*scope, *recommendation.criteria) if one.answer is None]
    else:
        verdict = Verdict.MET
        deciding = [one for one in recommendation.criteria if one.answer]
    return Judged(
        recommendation=recommendation, verdict=verdict, deciding=tuple(deciding), scope=scope
    )


def _scope(
    recommendation: Recommendation, facts: Facts, protocol: Protocol
) -> tuple[Criterion, ...]:
    adult_from = protocol.limit(AGE_LIMIT)
    age = age_on_the_day(facts.patient.birth_date, facts.on)
    adult = None if age is None else age >= adult_from.value
    of_age = adult if recommendation.for_adults or adult is None else not adult
    words = "adult" if recommendation.for_adults else f"under {adult_from.value:g}"
    sex = facts.patient.sex
    return (
        Criterion(
            name=words,
            answer=of_age,
            detail="" if age is None else f"{age} years",
            missing=("patient.birth_date",) if age is None else (),
        ),
        asked("male", None if sex is None else sex is Sex.MALE, "patient.sex"),
    )


def indication_advisory(judged: Judged, protocol: Protocol) -> Advisory:
    """The verdict, the facts that decide it, and what is missing for one."""
    recommendation, verdict = judged.recommendation, judged.verdict
    speaks_against = recommendation.against and verdict is Verdict.MET
    outside = verdict is Verdict.DOES_NOT_APPLY
    words = (
        f"{recommendation.name}: {_verdict_words(judged)}.",
        recommendation.says,
        _deciding_words(judged),
        "" if outside else recommendation.rider,
    )
    return advise(
        rule=recommendation.rule,
        urgency=Urgency.CAUTION if speaks_against else Urgency.INFO,
        text=" ".join(filter(None, words)),
        basis=_scope_basis(recommendation, protocol) if outside else recommendation.basis,
        inputs={
            "verdict": verdict.value,
            **{one.name: one.reads for one in (*judged.scope, *recommendation.criteria)},
        },
        missing=judged.missing,
        judges=verdict is Verdict.MET,
    )


def _scope_basis(recommendation: Recommendation, protocol: Protocol) -> tuple[Basis, ...]:
    """The age, and the recommendation where its wording stands: out of scope it is not leant on."""
    return (*filter(stands, recommendation.basis), protocol.limit(AGE_LIMIT))


def stands(basis: Basis) -> bool:
    """False for what is held from memory and has not been signed off by the site."""
    return isinstance(basis, Citation) or basis.stands


def _verdict_words(judged: Judged) -> str:
    verdict = judged.verdict
    if verdict is Verdict.DOES_NOT_APPLY:
        return "not about this patient"
    if not judged.recommendation.against or verdict is Verdict.CANNOT_BE_JUDGED:
        return verdict.value
    speaks = "speaks" if verdict is Verdict.MET else "does not speak"
    return f"{verdict.value}: it {speaks} against treatment"


def _deciding_words(judged: Judged) -> str:
    if judged.verdict is not Verdict.CANNOT_BE_JUDGED:
        return f"Deciding: {'; '.join(f'{one.name}: {one.reads}' for one in judged.deciding)}."
    names = ", ".join(
        f"{one.name} ({one.detail})" if one.detail else one.name for one in judged.deciding
    )
    needed = f" Not recorded or not clear: {', '.join(judged.missing)}." if judged.missing else ""
    return f"Open: {names}.{needed}"
