"""Published schemes for grading a complication: their grades, and how far each was verified.

A grade means nothing without its scheme and version: the same figure stands for different things.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from coilwright.advice import Status

AS_BEFORE = "taken to be as in CIRSE 2017; wording not seen"
SPLIT_3 = "grade 3 of CIRSE 2017, split by the length of the stay; its hours were not seen"


class ComplicationScheme(StrEnum):
    """A scheme in one of its versions."""

    CIRSE_2017 = "cirse-2017"
    CIRSE_2025 = "cirse-2025"
    SIR_2017 = "sir-2017"
    SIR_2003 = "sir-2003"


@dataclass(frozen=True, slots=True, kw_only=True)
class Grade:
    """What one grade stands for."""

    meaning: str
    status: Status


@dataclass(frozen=True, slots=True, kw_only=True)
class SchemeRow:
    """One scheme: its name, where it was published, and its grades from mild to severe."""

    name: str
    source: str
    grades: Mapping[str, Grade]


def _published(meaning: str) -> Grade:
    return Grade(meaning=meaning, status=Status.PUBLISHED)


def _remembered(meaning: str) -> Grade:
    return Grade(meaning=meaning, status=Status.FROM_MEMORY)


SCHEMES: Mapping[ComplicationScheme, SchemeRow] = {
    ComplicationScheme.CIRSE_2017: SchemeRow(
        name="CIRSE 2017",
        source="Filippiadis et al., Cardiovasc Intervent Radiol 2017;40:1141-1146",
        grades={
            "1": _published("solved within the same procedure"),
            "2": _published("unplanned longer stay below 48 h, no additional therapy"),
            "3": _published("additional therapy or a stay above 48 h, no sequelae"),
            "4": _published("mild sequelae beyond the stay"),
            "5": _published("severe sequelae, help needed in daily life"),
            "6": _published("death"),
        },
    ),
    # The abstract tells how 1 is split, and that 3 is; the other grades were not seen again.
    ComplicationScheme.CIRSE_2025: SchemeRow(
        name="modified CIRSE 2025/26",
        source="Cardiovasc Intervent Radiol 2026;49:2-6, doi 10.1007/s00270-025-04200-w",
        grades={
            "1a": _published("solved within the same procedure, which succeeds"),
            "1b": _published("it affects the success of the procedure"),
            "2": _remembered(AS_BEFORE),
            "3a": _published(SPLIT_3),
            "3b": _published(SPLIT_3),
            "4": _remembered(AS_BEFORE),
            "5": _remembered(AS_BEFORE),
            "6": _remembered(AS_BEFORE),
        },
    ),
    ComplicationScheme.SIR_2017: SchemeRow(
        name="SIR 2017",
        source="Khalilzadeh et al., J Vasc Interv Radiol 2017;28:1432-1437",
        grades={
            "1": _remembered("mild: no or nominal therapy"),
            "2": _remembered("moderate: moderate escalation of care, substantial treatment"),
            "3": _remembered("severe: marked escalation of care, a stay longer by more than 24 h"),
            "4": _remembered("life-threatening or disabling"),
            "5": _remembered("death, or unexpected end of a pregnancy"),
        },
    ),
    ComplicationScheme.SIR_2003: SchemeRow(
        name="SIR 2003",
        source="Society of Interventional Radiology, 2003, as tabulated by textbook pages",
        grades={
            "A": _published("minor: no therapy, no consequence"),
            "B": _published("minor: nominal therapy, overnight observation included"),
            "C": _published("major: therapy, minor hospital stay below 48 h"),
            "D": _published("major: major therapy, unplanned care, stay above 48 h"),
            "E": _published("major: permanent adverse sequelae"),
            "F": _published("death"),
        },
    ),
}
