"""The Sarteschi grade, from the recorded answers on reflux and varices.

1 reflux at the inguinal emergence on Valsalva alone, no varices; 2 supratesticular on Valsalva
alone; 3 peritesticular on Valsalva, with varices; 4 reflux at rest that increases on Valsalva;
5 reflux at rest that does not. The original table adds the size of the testis, which is not asked
for here.
"""

from dataclasses import dataclass

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.answers import said
from coilwright.assessment.definition import Definition, unasked_of
from coilwright.assessment.facts import Facts
from coilwright.assessment.findings import PlexusLevel, Ultrasound
from coilwright.assessment.ultrasound_veins import measured_sides
from coilwright.protocol import Citation, advise
from coilwright.veins import Side

SARTESCHI_RULE = "sarteschi-grade"
SARTESCHI = Citation(
    source="Sarteschi LM, G Ital Ultrasonologia 1993;4:43-49, as restated in World J Radiol "
    "2017;9:34-45, table 1",
    status=Status.PUBLISHED,
)
NO_REFLUX = 0
_ON_VALSALVA_ALONE = {"reflux_at_rest": False, "reflux_on_valsalva": True}
_DEFINED = (
    Definition(
        grade=NO_REFLUX,
        asks={"reflux_at_rest": False, "reflux_on_valsalva": False},
        besides={"reflux_increases_on_valsalva": False, "reflux_level": None},
    ),
    Definition(
        grade=1,
        asks={**_ON_VALSALVA_ALONE, "reflux_level": PlexusLevel.INGUINAL, "varices": False},
    ),
    Definition(grade=2, asks={**_ON_VALSALVA_ALONE, "reflux_level": PlexusLevel.SUPRATESTICULAR}),
    Definition(
        grade=3,
        asks={**_ON_VALSALVA_ALONE, "reflux_level": PlexusLevel.PERITESTICULAR, "varices": True},
    ),
    Definition(
        grade=4,
        asks={"reflux_at_rest": True, "reflux_increases_on_valsalva": True},
        besides={"reflux_on_valsalva": True},
    ),
    Definition(
        grade=5,
        asks={"reflux_at_rest": True, "reflux_increases_on_valsalva": False},
        besides={"reflux_on_valsalva": True},
    ),
)
_IN_WORDS = (
    "no reflux",
    "reflux at the inguinal emergence on Valsalva alone, no varices",
    "supratesticular reflux on Valsalva alone",
    "peritesticular reflux on Valsalva, with varices",
    "reflux at rest that increases on Valsalva",
    "reflux at rest that does not increase on Valsalva",
)
_TESTIS = {
    4: "The definition allows for a small testis.",
    5: "The definition includes a small testis.",
}
# What the table says of varices where the grade does not hang on them.
_VARICES = {2: False, 4: True, 5: True}
_READS = {
    "reflux_at_rest": "reflux at rest",
    "reflux_on_valsalva": "reflux on Valsalva",
    "reflux_increases_on_valsalva": "increases on Valsalva",
    "reflux_level": "lowest level of reflux",
    "varices": "varices",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SarteschiReading:
    """The grade 1 to 5, 0 for no reflux, None where it does not follow; and what is still open."""

    grade: int | None
    possible: tuple[int, ...]
    missing: tuple[str, ...]


def sarteschi_reading(exam: Ultrasound) -> SarteschiReading:
    """What one ultrasound's answers come to; no grade is possible where they fit no definition."""
    answers = {name: getattr(exam, name) for name in _READS}
    fitting = [definition for definition in _DEFINED if definition.fits(answers)]
    met = [definition.grade for definition in fitting if definition.met(answers)]
    return SarteschiReading(
        grade=met[0] if met else None,
        possible=tuple(definition.grade for definition in fitting),
        missing=() if met else unasked_of(fitting, answers),
    )


def sarteschi(facts: Facts) -> tuple[Advisory, ...]:
    """The grade of each side that ultrasound looked at, or what is missing for it."""
    return tuple(_of_side(side, exam) for side, exam in measured_sides(facts))


def _of_side(side: Side, exam: Ultrasound) -> Advisory:
    reading = sarteschi_reading(exam)
    between = _between(reading)
    varices = _varices_words(reading, exam)
    graded = reading.grade is not None and reading.grade != NO_REFLUX
    return advise(
        rule=SARTESCHI_RULE,
        urgency=Urgency.CAUTION if varices or not reading.possible else Urgency.INFO,
        text=f"{side.value.capitalize()}: {_words(reading)} {varices}".strip(),
        basis=(SARTESCHI,),
        value=float(reading.grade) if graded and reading.grade is not None else None,
        between=between,
        unit="grade" if graded or between else None,
        inputs={
            "side": side.value,
            **{reads: _answer(getattr(exam, name)) for name, reads in _READS.items()},
        },
        missing=tuple(f"ultrasound.{name}" for name in reading.missing),
    )


def _words(reading: SarteschiReading) -> str:
    if not reading.possible:
        return (
            "no Sarteschi grade follows: the answers on reflux and varices contradict each other, "
            "or fit no definition."
        )
    if reading.grade == NO_REFLUX:
        return "no reflux at rest or on Valsalva: no Sarteschi grade applies."
    if reading.grade is not None:
        testis = _TESTIS.get(reading.grade, "")
        return f"Sarteschi grade {reading.grade} ({_IN_WORDS[reading.grade]}). {testis}".strip()
    unasked = ", ".join(_READS[name] for name in reading.missing)
    keys = ", ".join(f"ultrasound.{name}" for name in reading.missing)
    if 1 < len(reading.possible) < len(_DEFINED):
        return f"Sarteschi {_open(reading)}: {unasked} not recorded ({keys})."
    only = f" {_open(reading).capitalize()} alone would fit." if len(reading.possible) == 1 else ""
    return f"Sarteschi grade cannot be judged: {unasked} not recorded ({keys}).{only}"


def _open(reading: SarteschiReading) -> str:
    *first, last = ("no grade" if g == NO_REFLUX else f"grade {g}" for g in reading.possible)
    return f"{', '.join(first)} or {last}" if first else last


def _between(reading: SarteschiReading) -> tuple[float, float] | None:
    """The range of grades left, where reflux is sure and several grades fit."""
    if reading.grade is not None or len(reading.possible) < 2 or NO_REFLUX in reading.possible:
        return None
    return float(reading.possible[0]), float(reading.possible[-1])


def _varices_words(reading: SarteschiReading, exam: Ultrasound) -> str:
    usual = None if reading.grade is None else _VARICES.get(reading.grade)
    if usual is None or exam.varices is None or exam.varices is usual:
        return ""
    return f"The table describes it {'with' if usual else 'without'} varices: worth checking."


def _answer(answer: bool | PlexusLevel | None) -> str:
    return answer.value if isinstance(answer, PlexusLevel) else said(answer)
