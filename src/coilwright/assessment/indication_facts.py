"""The conditions that recommendations on varicocele ask for, as the case answers them."""

from coilwright.assessment.clinical_grade import palpable
from coilwright.assessment.criterion import Criterion, all_hold, any_holds, asked
from coilwright.assessment.cut_offs import at_least
from coilwright.assessment.facts import Facts
from coilwright.assessment.semen import azoospermic, sample_name, semen_abnormal
from coilwright.assessment.semen_limits import (
    edition_choice,
    edition_name,
    judged_abnormal,
    latest_sample,
    needed_and_missing,
)
from coilwright.assessment.stated_side import agreed_sides
from coilwright.assessment.testis import ASYMMETRY_RULE, testis_size
from coilwright.protocol import Protocol
from coilwright.veins import Side


def palpable_varicocele(facts: Facts) -> Criterion:
    """Palpable on any side to be treated, or on any side where none is agreed on."""
    answers = _palpable_by_side(facts)
    answer = any_holds(list(answers.values()))
    return Criterion(
        name="palpable varicocele",
        answer=answer,
        detail=_by_side(answers),
        missing=() if answer is not None else _unexamined(answers),
    )


def subclinical_varicocele(facts: Facts) -> Criterion:
    """Not palpable on a side to be treated; where none is agreed on, palpable on neither."""
    answers = _palpable_by_side(facts)
    absent = [None if answer is None else not answer for answer in answers.values()]
    answer = any_holds(absent) if agreed_sides(facts) else all_hold(absent)
    return Criterion(
        name="subclinical varicocele (not palpable)",
        answer=answer,
        detail=f"palpable: {_by_side(answers)}",
        missing=() if answer is not None else _unexamined(answers),
    )


def _palpable_by_side(facts: Facts) -> dict[Side, bool | None]:
    return {side: palpable(facts, side) for side in agreed_sides(facts) or tuple(Side)}


def _by_side(answers: dict[Side, bool | None]) -> str:
    words = {True: "yes", False: "no", None: "not judged"}
    return ", ".join(f"{side.value} {words[answer]}" for side, answer in answers.items())


def _unexamined(answers: dict[Side, bool | None]) -> tuple[str, ...]:
    return tuple(f"examination ({side.value})" for side, a in answers.items() if a is None)


def infertility(facts: Facts) -> Criterion:
    """The couple is infertile."""
    return asked("infertility", facts.fertility.infertility, "fertility.infertility")


def otherwise_unexplained(facts: Facts) -> Criterion:
    """Nothing else explains the infertility."""
    answer = facts.fertility.otherwise_unexplained
    return asked("otherwise unexplained", answer, "fertility.otherwise_unexplained")


def partner_reserve(facts: Facts) -> Criterion:
    """The partner's ovarian reserve is good."""
    answer = facts.fertility.partner_ovarian_reserve_good
    key = "fertility.partner_ovarian_reserve_good"
    return asked("partner with good ovarian reserve", answer, key)


def dna_fragmentation(facts: Facts) -> Criterion:
    """Sperm DNA fragmentation is raised."""
    answer = facts.fertility.dna_fragmentation_raised
    return asked("raised sperm DNA fragmentation", answer, "fertility.dna_fragmentation_raised")


def failed_assisted_reproduction(facts: Facts) -> Criterion:
    """Assisted reproduction failed again and again, or pregnancies were lost."""
    key = "recurrent_art_failure_or_pregnancy_loss"
    answer = facts.fertility.recurrent_art_failure_or_pregnancy_loss
    return asked("failed assisted reproduction or lost pregnancies", answer, f"fertility.{key}")


def abnormal_semen(facts: Facts, protocol: Protocol) -> Criterion:
    """The latest sample has a parameter below its limit."""
    answer = semen_abnormal(facts, protocol)
    return Criterion(
        name="abnormal semen",
        answer=answer,
        detail=_semen_detail(facts, protocol),
        missing=() if answer is not None else _missing_of_semen(facts),
    )


def normal_semen(facts: Facts, protocol: Protocol) -> Criterion:
    """The latest sample has no parameter below its limit."""
    answer = semen_abnormal(facts, protocol)
    return Criterion(
        name="normal semen",
        answer=None if answer is None else not answer,
        detail=_semen_detail(facts, protocol),
        missing=() if answer is not None else _missing_of_semen(facts),
    )


def _semen_detail(facts: Facts, protocol: Protocol) -> str:
    """The sample and what each edition calls it, for the editions need not agree."""
    latest = latest_sample(facts)
    if latest is None:
        return ""
    choice = edition_choice(protocol)
    words = {True: "abnormal", False: "normal", None: "not judged"}
    by_edition = {e: judged_abnormal(latest[1], e, protocol) for e in choice.options}
    editions = [choice.value]
    if len(set(by_edition.values())) > 1:
        editions += [edition for edition in choice.options if edition != choice.value]
    judged = ", ".join(f"{words[by_edition[e]]} by {edition_name(e)}" for e in editions)
    return f"{sample_name(*latest)} {judged}"


def _missing_of_semen(facts: Facts) -> tuple[str, ...]:
    latest = latest_sample(facts)
    if latest is None:
        return ("semen.date",) if facts.semen else ("semen",)
    place, sample = latest
    return tuple(f"semen[{place}].{w.replace(' ', '_')}" for w in needed_and_missing(sample))


def sperm_in_semen(facts: Facts) -> Criterion:
    """The latest sample is not azoospermic."""
    answer, latest = azoospermic(facts), latest_sample(facts)
    key = "semen" if latest is None else f"semen[{latest[0]}].concentration"
    return asked("not azoospermic", None if answer is None else not answer, key)


AZOOSPERMIA_RIDER = (
    "Azoospermia is recorded: whether these words are meant for it is not held here, see "
    "semen-azoospermia."
)


def azoospermia_rider(facts: Facts) -> str:
    """The sentence that a recommendation without a word on azoospermia needs in it."""
    return AZOOSPERMIA_RIDER if azoospermic(facts) else ""


def scrotal_ache(facts: Facts) -> Criterion:
    """The varicocele aches."""
    return asked("pain (scrotal ache)", facts.conditions.scrotal_ache, "conditions.scrotal_ache")


def repaired_before(facts: Facts) -> Criterion:
    """The varicocele came back after an earlier repair."""
    answer = facts.conditions.previous_repair
    return asked("recurrence after an earlier repair", answer, "conditions.previous_repair")


def atrophied_testis(facts: Facts, protocol: Protocol) -> Criterion:
    """The testis on the varicocele's side is small by the rule on asymmetry."""
    found = [a for a in testis_size(facts, protocol) if a.rule == ASYMMETRY_RULE]
    limit = protocol.limit("testis-asymmetry-percent")
    answer = any_holds([None if a.value is None else at_least(a.value, limit.value) for a in found])
    missing = () if answer is not None else tuple(key for a in found for key in a.missing)
    percents = [a.value for a in found if a.value is not None]
    return Criterion(
        name="testicular atrophy",
        answer=answer,
        detail=", ".join(f"smaller by {percent:.1f} %" for percent in percents)
        or ("" if missing else "no healthy side to compare with"),
        missing=missing,
    )
