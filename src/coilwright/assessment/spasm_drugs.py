"""The questions before a nitrate is given for spasm, and what was given."""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.answers import said
from coilwright.assessment.facts import Facts
from coilwright.assessment.pde5_window import can_be_judged, is_past_window
from coilwright.protocol import COMMON_PRACTICE, Protocol, advise, louder

PDE5_RULE = "pde5-inhibitor-and-nitrate"
PRESSURE_RULE = "nitrate-blood-pressure"


def nitrate_question(facts: Facts) -> tuple[Advisory, ...]:
    """Whether a phosphodiesterase-5 inhibitor or a nitrate is taken already."""
    taken = {
        "phosphodiesterase-5 inhibitor": facts.medication.pde5_inhibitor,
        "nitrate": facts.medication.nitrate,
    }
    keys = ("medication.pde5_inhibitor", "medication.nitrate")
    missing = tuple(key for key, answer in zip(keys, taken.values(), strict=True) if answer is None)
    urgency, text = _words(facts)
    if missing:
        text = (
            f"{text} Ask before a nitrate is given for spasm; not recorded: {', '.join(missing)}."
        )
        urgency = urgency if urgency is Urgency.STOP_AND_THINK else Urgency.CAUTION
    return (
        advise(
            rule=PDE5_RULE,
            urgency=urgency,
            text=text.strip(),
            basis=(COMMON_PRACTICE,),
            inputs={name: said(answer) for name, answer in taken.items()},
            missing=missing,
        ),
    )


def _words(facts: Facts) -> tuple[Urgency, str]:
    pde5, nitrate = facts.medication.pde5_inhibitor, facts.medication.nitrate
    if pde5:
        text = "Takes a phosphodiesterase-5 inhibitor: a nitrate for spasm may drop the pressure "
        if can_be_judged(facts):
            judged = "dangerously; drug and day are recorded: pde5-inhibitor-window judges them."
            return Urgency.INFO, f"{text}{judged}"
        return Urgency.STOP_AND_THINK, f"{text}dangerously; ask which drug and when last taken."
    if nitrate:
        return Urgency.CAUTION, "Takes a nitrate already: count it before another is given."
    if pde5 is None or nitrate is None:
        return Urgency.CAUTION, ""
    return Urgency.INFO, "Takes neither a phosphodiesterase-5 inhibitor nor a nitrate."


def nitrate_given(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """The doses given for spasm against the pressure before each; nothing before the first."""
    doses, floor = facts.given.nitrate, protocol.limit("nitrate-systolic-floor")
    if not doses:
        return ()
    total_mg = sum(dose.mass_mg for dose in doses)
    pressures = [dose.systolic_before_mmhg for dose in doses]
    measured = [pressure for pressure in pressures if pressure is not None]
    missing = _missing(facts, len(measured) < len(doses))
    parts = [
        _of_pressure(measured, floor.value),
        _of_pde5(facts, protocol),
        (Urgency.CAUTION, f"Not recorded: {', '.join(missing)}.") if missing else None,
    ]
    spoken = [part for part in parts if part is not None]
    urgency = Urgency.INFO
    for part in spoken:
        urgency = louder(urgency, part[0])
    times = "one dose" if len(doses) == 1 else f"{len(doses)} doses"
    given = f"Nitrate recorded as given: {total_mg:g} mg in {times}."
    return (
        advise(
            rule=PRESSURE_RULE,
            urgency=urgency,
            text=" ".join((given, *(text for _, text in spoken))),
            basis=(floor,),
            value=min(measured, default=None),
            limit=floor.value if measured else None,
            unit=floor.unit if measured else None,
            inputs={
                "nitrate given": f"{total_mg:g} mg",
                "systolic before": ", ".join(map(_shown, pressures)),
            },
            missing=missing,
        ),
    )


def _missing(facts: Facts, unmeasured: bool) -> tuple[str, ...]:
    missing = ["given.nitrate.systolic_before"] if unmeasured else []
    missing += ["medication.pde5_inhibitor"] if facts.medication.pde5_inhibitor is None else []
    return tuple(missing)


def _of_pressure(measured: list[float], floor: float) -> tuple[Urgency, str] | None:
    if not measured:
        return None
    lowest = min(measured)
    if lowest < floor:
        text = f"Lowest systolic pressure before a dose {lowest:g} mmHg, below {floor:g}."
        return Urgency.STOP_AND_THINK, text
    return Urgency.INFO, f"Lowest systolic pressure before a dose {lowest:g} mmHg."


def _of_pde5(facts: Facts, protocol: Protocol) -> tuple[Urgency, str] | None:
    if not facts.medication.pde5_inhibitor:
        return None
    if is_past_window(facts, protocol):
        text = (
            "A phosphodiesterase-5 inhibitor is recorded as taken, beyond its window by the day "
            "recorded: watch the pressure."
        )
        return Urgency.CAUTION, text
    text = (
        "A phosphodiesterase-5 inhibitor is recorded as taken: the pressure may fall far and late; "
        "watch it, and give no further nitrate before it is settled when the drug was taken."
    )
    return Urgency.STOP_AND_THINK, text


def _shown(pressure_mmhg: float | None) -> str:
    return "not recorded" if pressure_mmhg is None else f"{pressure_mmhg:g} mmHg"
