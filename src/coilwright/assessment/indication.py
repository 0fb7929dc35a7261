"""Which published recommendations on varicocele a patient meets, and what they come to together.

Nothing here decides: the decision is the clinician's with the patient, and a recommendation that
cannot be judged never bars the measuring and sizing of the vein.
"""

from collections.abc import Sequence

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.facts import Facts, Sex
from coilwright.assessment.indication_american import asrm_2014, aua_asrm_2020
from coilwright.assessment.indication_eau import (
    EAU,
    eau_dna_fragmentation,
    eau_infertility,
    eau_not_indicated,
    espu_adolescent,
)
from coilwright.assessment.indication_symptoms import symptoms
from coilwright.assessment.recommendation import (
    Judged,
    Recommendation,
    Verdict,
    indication_advisory,
    judge,
    stands,
)
from coilwright.protocol import Protocol, advise

SUMMARY_RULE = "indication-summary"
DECISION = (
    "The decision is the clinician's with the patient; missing referral or semen data never bars "
    "sizing."
)
# These three speak of the same men, so where their verdicts part the bodies disagree.
OF_INFERTILE_MEN = frozenset(
    {"indication-eau-infertility", "indication-asrm-2014", "indication-aua-asrm-2020"}
)
DIFFERENCES = (
    "The bodies differ: the EAU alone asks for the partner's ovarian reserve and speaks of DNA "
    "fragmentation, the hospital pages alone of pain and atrophy"
)


def indication(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """One advisory for each recommendation, and the summary; one line for a woman."""
    if facts.patient.sex is Sex.FEMALE:
        return (_for_men_alone(),)
    judged = [judge(one, facts, protocol) for one in _recommendations(facts, protocol)]
    return (*(indication_advisory(one, protocol) for one in judged), _summary(judged))


def _recommendations(facts: Facts, protocol: Protocol) -> tuple[Recommendation, ...]:
    return (
        eau_infertility(facts, protocol),
        eau_not_indicated(facts, protocol),
        eau_dna_fragmentation(facts),
        espu_adolescent(facts, protocol),
        asrm_2014(facts),
        *aua_asrm_2020(facts, protocol),
        symptoms(facts, protocol),
    )


def _for_men_alone() -> Advisory:
    return advise(
        rule=SUMMARY_RULE,
        urgency=Urgency.INFO,
        text="The recommendations on varicocele are for men and do not apply to this patient; "
        "closing the ovarian vein has no rules here yet.",
        basis=(EAU,),
        inputs={"verdict": Verdict.DOES_NOT_APPLY.value, "sex": "female"},
    )


def _summary(judged: Sequence[Judged]) -> Advisory:
    about = [one for one in judged if one.verdict is not Verdict.DOES_NOT_APPLY]
    counted = [one for one in about if all(map(stands, one.recommendation.basis))]
    treat = [one for one in counted if not one.recommendation.against]
    overall = _overall([one.verdict for one in treat])
    speaks_against = any(o.recommendation.against and o.verdict is Verdict.MET for o in counted)
    loud = speaks_against or overall is Verdict.NOT_MET
    return advise(
        rule=SUMMARY_RULE,
        urgency=Urgency.CAUTION if loud else Urgency.INFO,
        text=" ".join(filter(None, _summary_words(judged, about, counted))),
        basis=tuple(dict.fromkeys(basis for one in counted for basis in one.recommendation.basis)),
        inputs={
            "verdict": overall.value,
            **{one.recommendation.rule: one.verdict.value for one in judged},
        },
        missing=_missing(counted),
    )


def _summary_words(
    judged: Sequence[Judged], about: Sequence[Judged], counted: Sequence[Judged]
) -> tuple[str, ...]:
    treat = [one for one in counted if not one.recommendation.against]
    against = [one for one in counted if one.recommendation.against]
    missing = _missing(counted)
    return (
        _line("Recommendations to treat that are met", _with(treat, Verdict.MET), "none"),
        _line("Not met", _with(treat, Verdict.NOT_MET)),
        _line("Speaking against treatment", _with(against, Verdict.MET)),
        _line("Cannot be judged", _with(counted, Verdict.CANNOT_BE_JUDGED)),
        _line("Not about this patient", _with(judged, Verdict.DOES_NOT_APPLY)),
        _line(
            "Not counted until the site signs its wording off",
            [one for one in about if one not in counted],
        ),
        f"Not recorded or not clear: {', '.join(missing)}." if missing else "",
        *_disagreement(treat, against),
        _differences(counted),
        DECISION,
    )


def _with(some: Sequence[Judged], verdict: Verdict) -> list[Judged]:
    return [one for one in some if one.verdict is verdict]


def _line(heading: str, some: Sequence[Judged], otherwise: str = "") -> str:
    names = "; ".join(one.recommendation.name for one in some) or otherwise
    return f"{heading}: {names}." if names else ""


def _missing(counted: Sequence[Judged]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(key for one in counted for key in one.missing))


def _overall(verdicts: Sequence[Verdict]) -> Verdict:
    """Met where any recommendation to treat is; not met only where none is left open."""
    for verdict in (Verdict.MET, Verdict.CANNOT_BE_JUDGED, Verdict.NOT_MET):
        if verdict in verdicts:
            return verdict
    return Verdict.DOES_NOT_APPLY


def _disagreement(treat: Sequence[Judged], against: Sequence[Judged]) -> tuple[str, ...]:
    """Where the verdicts on this patient part, and on which conditions."""
    alike = [one for one in treat if one.recommendation.rule in OF_INFERTILE_MEN]
    met, not_met = _with(alike, Verdict.MET), _with(alike, Verdict.NOT_MET)
    advice_against, any_met = _with(against, Verdict.MET), _with(treat, Verdict.MET)
    return (
        f"The bodies disagree on this patient: {_names(met)} met, but not {_reasons(not_met)}."
        if met and not_met
        else "",
        f"{_reasons(advice_against)} speaks against treatment, while {_names(any_met)} is met."
        if advice_against and any_met
        else "",
    )


def _names(some: Sequence[Judged]) -> str:
    return ", ".join(one.recommendation.name for one in some)


def _reasons(some: Sequence[Judged]) -> str:
    return ", ".join(
        f"{one.recommendation.name} ({'; '.join(f'{c.name}: {c.reads}' for c in one.deciding)})"
        for one in some
    )


def _differences(counted: Sequence[Judged]) -> str:
    """What one body asks for and another does not; of adults alone, for boys have one rule."""
    if not any(one.recommendation.for_adults for one in counted):
        return ""
    rules = {one.recommendation.rule for one in counted}
    azoospermia = ", and AUA/ASRM alone leaves out azoospermia"
    return f"{DIFFERENCES}{azoospermia if 'indication-aua-asrm-2020' in rules else ''}."
