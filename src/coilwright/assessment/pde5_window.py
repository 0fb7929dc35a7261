"""How long ago a phosphodiesterase-5 inhibitor was taken, against the window without nitrate.

The last dose is known as a day, not an hour: the time since is a range a day wide at each end, and
the least of it decides.
"""

import re

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.facts import Facts
from coilwright.protocol import COMMON_PRACTICE, Limit, Protocol, advise

WINDOW_RULE = "pde5-inhibitor-window"
HOURS_IN_DAY = 24.0
SHORT_ACTING = ("sildenafil", "vardenafil", "avanafil")
LONG_ACTING = ("tadalafil",)


def pde5_window(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Whether a nitrate may meet the drug's effect; nothing where none is taken or nobody asked."""
    if not facts.medication.pde5_inhibitor:
        return ()
    windows = _windows(facts, protocol)
    hours = hours_since(facts)
    if not windows or hours is None:
        return (_cannot(facts, windows, hours),)
    window = max(windows, key=lambda limit: limit.value)
    return (_judged(facts, window, hours),)


def can_be_judged(facts: Facts) -> bool:
    """Whether a drug known here and the day of its last dose are recorded."""
    return bool(_drugs(facts)) and hours_since(facts) is not None


def is_past_window(facts: Facts, protocol: Protocol) -> bool:
    """Whether the least time since the last dose is beyond the longest window of its drugs."""
    windows, hours = _windows(facts, protocol), hours_since(facts)
    if not windows or hours is None:
        return False
    return hours[0] >= max(limit.value for limit in windows)


def hours_since(facts: Facts) -> tuple[float, float] | None:
    """The least and the most hours since the last dose; None where the day is not usable.

    Examples
    --------
    A dose the day before: nothing to two days.

    >>> import datetime as dt
    >>> from coilwright.assessment import Facts, Medication, Patient
    >>> taken = Medication(pde5_inhibitor=True, pde5_last_taken=dt.date(2026, 3, 11))
    >>> hours_since(Facts(on=dt.date(2026, 3, 12), patient=Patient(id="1", name="x"),
    ...                   medication=taken))
    (0.0, 48.0)
    """
    day = facts.medication.pde5_last_taken
    if day is None or day > facts.on:
        return None
    days = (facts.on - day).days
    return max(days - 1, 0) * HOURS_IN_DAY, (days + 1) * HOURS_IN_DAY


def _drugs(facts: Facts) -> list[str]:
    words = re.findall(r"[a-z]+", (facts.medication.pde5_drug or "").casefold())
    return [name for name in (*SHORT_ACTING, *LONG_ACTING) if name in words]


def _windows(facts: Facts, protocol: Protocol) -> list[Limit]:
    named = _drugs(facts)
    ids = ["pde5-window-short-acting"] if set(named) & set(SHORT_ACTING) else []
    ids += ["pde5-window-tadalafil"] if set(named) & set(LONG_ACTING) else []
    return [protocol.limit(id) for id in ids]


def _judged(facts: Facts, window: Limit, hours: tuple[float, float]) -> Advisory:
    past = hours[0] >= window.value
    drugs = " and ".join(_drugs(facts))
    since = f"{hours[0]:.0f} to {hours[1]:.0f} h ago, by the day alone"
    inside = (
        f"it may lie within the {window.value:g} h in which no nitrate is given: ask for the hour"
    )
    words = f"beyond the {window.value:g} h in which no nitrate is given" if past else inside
    return advise(
        rule=WINDOW_RULE,
        urgency=Urgency.INFO if past else Urgency.STOP_AND_THINK,
        text=f"Last {drugs} {since}; {words}.",
        basis=(window,),
        between=hours,
        limit=window.value,
        unit=window.unit,
        inputs={"drug": drugs, "last taken": str(facts.medication.pde5_last_taken)},
    )


def _cannot(facts: Facts, windows: list[Limit], hours: tuple[float, float] | None) -> Advisory:
    medication = facts.medication
    missing = ["medication.pde5_drug"] if medication.pde5_drug is None else []
    missing += ["medication.pde5_last_taken"] if medication.pde5_last_taken is None else []
    reasons = [f"Not recorded: {', '.join(missing)}."] if missing else []
    if medication.pde5_drug is not None and not windows:
        reasons.append("The drug (medication.pde5_drug) is none that has a window here.")
    if medication.pde5_last_taken is not None and hours is None:
        reasons.append("The day (medication.pde5_last_taken) lies after the procedure.")
    # pde5-inhibitor-and-nitrate stops here and asks: one voice is enough.
    return advise(
        rule=WINDOW_RULE,
        urgency=Urgency.CAUTION,
        text=f"How long a nitrate must wait cannot be judged. {' '.join(reasons)}",
        basis=(COMMON_PRACTICE,),
        missing=missing,
    )
