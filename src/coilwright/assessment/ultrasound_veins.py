"""The widest recorded vein of each side, and the condition it was measured in.

This is the plexus in the scrotum, not the trunk that is closed.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.facts import Facts
from coilwright.assessment.findings import Ultrasound
from coilwright.assessment.latest_exam import which_exam
from coilwright.assessment.stated_side import latest_of_side
from coilwright.protocol import Citation, advise
from coilwright.veins import Side

LARGEST_RULE = "ultrasound-largest-vein"
ESUR_RECORD = Citation(
    source="Freeman S et al., Ultrasound evaluation of varicoceles: ESUR-SPIWG guidelines, "
    "Eur Radiol 2020;30:11-25, what to record",
    status=Status.RESTATED,
)
# Case-file key of the table, and how the condition reads.
CONDITIONS = {
    "vein_supine_rest": "supine at rest",
    "vein_supine_valsalva": "supine on Valsalva",
    "vein_upright_rest": "upright at rest",
    "vein_upright_valsalva": "upright on Valsalva",
}

_FOUND = (
    *(f"{key}_mm" for key in CONDITIONS),
    "reflux_at_rest",
    "reflux_on_valsalva",
    "reflux_increases_on_valsalva",
    "reflux_level",
    "reflux_s",
    "varices",
    "plexus_seen",
    "plexus_sum_mm",
    "valsalva_flow_change_cm_per_s",
)
VEIN_KEYS = tuple(f"ultrasound.{key}" for key in CONDITIONS)


@dataclass(frozen=True, slots=True, kw_only=True)
class WidestVein:
    """The widest of the recorded diameters, and every condition in which it was that wide."""

    width_mm: float
    condition: str


def vein_widths_mm(exam: Ultrasound) -> dict[str, float | None]:
    """The four diameters by their case-file keys; None where not recorded."""
    return {key: getattr(exam, f"{key}_mm") for key in CONDITIONS}


def widest_vein(exam: Ultrasound) -> WidestVein | None:
    """The widest recorded vein, or None where no diameter is recorded."""
    widths = {key: width for key, width in vein_widths_mm(exam).items() if width is not None}
    if not widths:
        return None
    width_mm = max(widths.values())
    where = [CONDITIONS[key] for key, width in widths.items() if width == width_mm]
    return WidestVein(width_mm=width_mm, condition=" and ".join(where))


def latest_of_sides(facts: Facts) -> Iterator[tuple[Side, Ultrasound]]:
    """The latest ultrasound of each side that has one, left first."""
    for side in Side:
        exam = latest_of_side(facts.ultrasound, side)
        if exam is not None:
            yield side, exam


def measured_sides(facts: Facts) -> Iterator[tuple[Side, Ultrasound]]:
    """Those of them that have anything to judge.

    A side that the report calls free of a varicocele, without a measurement, lacks nothing.
    """
    for side, exam in latest_of_sides(facts):
        if exam.varicocele is not False or any(getattr(exam, name) is not None for name in _FOUND):
            yield side, exam


def largest_veins(facts: Facts) -> tuple[Advisory, ...]:
    """The widest vein of each side, or what is missing for it."""
    if not facts.ultrasound:
        return (_cannot("no ultrasound is recorded", "ultrasound", Urgency.INFO),)
    advisories = [_of_side(facts, side, exam) for side, exam in measured_sides(facts)]
    if any(exam.side is None for exam in facts.ultrasound):
        why = "an ultrasound without its side counts for neither"
        advisories.append(_cannot(why, "ultrasound.side", Urgency.CAUTION))
    return tuple(advisories)


def _cannot(why: str, key: str, urgency: Urgency) -> Advisory:
    return advise(
        rule=LARGEST_RULE,
        urgency=urgency,
        text=f"The widest vein of the plexus is not known: {why}. Not recorded: {key}.",
        basis=(ESUR_RECORD,),
        missing=(key,),
    )


def _of_side(facts: Facts, side: Side, exam: Ultrasound) -> Advisory:
    widest, widths = widest_vein(exam), vein_widths_mm(exam)
    missing = tuple(f"ultrasound.{key}" for key, width in widths.items() if width is None)
    absent = f"Not recorded on the {side.value}: {', '.join(missing)}." if missing else ""
    odd = _narrower_on_valsalva(widths)
    words = (
        f"{side.value.capitalize()}: {_widest_words(widest)}",
        odd,
        absent,
        which_exam(facts.ultrasound, side, "ultrasound"),
    )
    return advise(
        rule=LARGEST_RULE,
        urgency=Urgency.CAUTION if odd else Urgency.INFO,
        text=" ".join(filter(None, words)),
        basis=(ESUR_RECORD,),
        value=None if widest is None else widest.width_mm,
        unit=None if widest is None else "mm",
        inputs=_inputs(side, exam, widths),
        missing=missing,
    )


def _widest_words(widest: WidestVein | None) -> str:
    if widest is None:
        return "no diameter of a vein of the plexus is recorded."
    return f"widest recorded vein of the plexus {widest.width_mm:.1f} mm ({widest.condition})."


def _narrower_on_valsalva(widths: dict[str, float | None]) -> str:
    """Valsalva fills the plexus: a vein that is narrower then is worth a second look."""
    odd = []
    for position in ("supine", "upright"):
        rest, valsalva = widths[f"vein_{position}_rest"], widths[f"vein_{position}_valsalva"]
        if rest is not None and valsalva is not None and valsalva < rest:
            odd.append(position)
    return f"Narrower on Valsalva than at rest, {' and '.join(odd)}: worth checking." if odd else ""


def _inputs(side: Side, exam: Ultrasound, widths: dict[str, float | None]) -> dict[str, str]:
    level = exam.largest_vein_at
    return {
        "side": side.value,
        "date": "not recorded" if exam.date is None else exam.date.isoformat(),
        **{
            CONDITIONS[key]: "not recorded" if width is None else f"{width:g} mm"
            for key, width in widths.items()
        },
        "measured at": "level not recorded" if level is None else f"{level.value} level",
    }
