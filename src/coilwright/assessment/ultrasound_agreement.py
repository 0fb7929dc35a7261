"""Where the criteria agree that there is a varicocele, and where they do not."""

from collections.abc import Sequence
from dataclasses import dataclass

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.chiou import chiou_components, chiou_limits, chiou_says_varicocele
from coilwright.assessment.clinical_grade import DUBIN_AMELAR, palpable
from coilwright.assessment.facts import Facts
from coilwright.assessment.findings import Ultrasound
from coilwright.assessment.ultrasound_criteria import criteria_of
from coilwright.assessment.ultrasound_veins import latest_of_sides
from coilwright.protocol import Basis, Citation, Protocol, advise
from coilwright.veins import Side

AGREEMENT_RULE = "ultrasound-criteria-agreement"
REPORT = Citation(
    source="the ultrasound report's own conclusion, as recorded", status=Status.COMPUTED
)
_FOLLOWED = {"esur": "ESUR's", "older": "the older cut-offs"}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Voice:
    """One criterion's word on a side; None where it cannot be judged, for want of ``missing``."""

    name: str
    says: bool | None
    basis: tuple[Basis, ...]
    missing: tuple[str, ...] = ()


def criteria_agreement(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Who says varicocele, who says not and who cannot say, of each side ultrasound looked at."""
    return tuple(
        _of_side(side, _voices(facts, side, exam, protocol), protocol)
        for side, exam in latest_of_sides(facts)
    )


def _voices(facts: Facts, side: Side, exam: Ultrasound, protocol: Protocol) -> list[_Voice]:
    published = [
        _Voice(
            name=criterion.name,
            says=criterion.met,
            basis=() if criterion.limit is None else (criterion.limit,),
            missing=criterion.missing,
        )
        for criterion in criteria_of(exam, protocol)
    ]
    return [
        *published,
        _Voice(
            name="Chiou score",
            says=chiou_says_varicocele(exam, protocol),
            basis=chiou_limits(protocol),
            missing=tuple(key for part in chiou_components(exam, protocol) for key in part.missing),
        ),
        _Voice(
            name="palpation",
            says=palpable(facts, side),
            basis=(DUBIN_AMELAR,),
            missing=("examination",),
        ),
        _Voice(
            name="the report's own conclusion",
            says=exam.varicocele,
            basis=(REPORT,),
            missing=("ultrasound.varicocele",),
        ),
    ]


def _of_side(side: Side, voices: Sequence[_Voice], protocol: Protocol) -> Advisory:
    choice = protocol.choice("us-varicocele-criteria")
    yes = [voice.name for voice in voices if voice.says]
    no = [voice.name for voice in voices if voice.says is False]
    open_ = [voice.name for voice in voices if voice.says is None]
    words = (
        f"{side.value.capitalize()}: {_opening(yes, no)}",
        f"Varicocele: {', '.join(yes)}." if yes else "",
        f"No varicocele: {', '.join(no)}." if no else "",
        f"Cannot be judged: {', '.join(open_)}." if open_ else "",
        f"The criteria followed here are {_FOLLOWED[choice.value]}.",
    )
    judged = [basis for voice in voices if voice.says is not None for basis in voice.basis]
    return advise(
        rule=AGREEMENT_RULE,
        urgency=Urgency.CAUTION if yes and no else Urgency.INFO,
        text=" ".join(filter(None, words)),
        basis=(choice, *judged),
        inputs={"side": side.value, **{voice.name: _said(voice.says) for voice in voices}},
        missing=_missing(voices),
    )


def _missing(voices: Sequence[_Voice]) -> tuple[str, ...]:
    unjudged = (voice for voice in voices if voice.says is None)
    return tuple(dict.fromkeys(key for voice in unjudged for key in voice.missing))


def _opening(yes: list[str], no: list[str]) -> str:
    if yes and no:
        return "the criteria for a varicocele conflict."
    if yes or no:
        return "the criteria that can be judged agree."
    return "no criterion for a varicocele can be judged."


def _said(says: bool | None) -> str:
    return "cannot be judged" if says is None else ("varicocele" if says else "no varicocele")
