"""Nitrate for spasm: the window after a phosphodiesterase-5 inhibitor, and the pressure before."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest

from coilwright.advice import Status, Urgency
from coilwright.assessment import Facts, Given, Medication, NitrateGiven, Patient
from coilwright.assessment.pde5_window import pde5_window
from coilwright.assessment.spasm_drugs import nitrate_given, nitrate_question
from coilwright.protocol import load_protocol

PROTOCOL = load_protocol()
ON = dt.date(2026, 3, 12)


def facts(medication: Medication | None = None, doses: tuple[NitrateGiven, ...] = ()) -> Facts:
    return Facts(
        on=ON,
        patient=Patient(id="1", name="x"),
        medication=medication or Medication(pde5_inhibitor=False, nitrate=False),
        given=Given(nitrate=doses),
    )


def taken(drug: str | None, days_ago: int | None) -> Facts:
    day = None if days_ago is None else ON - dt.timedelta(days=days_ago)
    return facts(
        Medication(pde5_inhibitor=True, pde5_drug=drug, pde5_last_taken=day, nitrate=False)
    )


@pytest.mark.parametrize("answer", [False, None])
def test_window_says_nothing_where_no_drug_is_recorded(answer: bool | None) -> None:
    assert pde5_window(facts(Medication(pde5_inhibitor=answer)), PROTOCOL) == ()


@pytest.mark.parametrize(
    ("drug", "days_ago", "hours", "window_h", "urgency"),
    # Windows of 24 h (short acting) and 48 h (tadalafil), from memory. A dose n days before lies
    # from 24 (n - 1) to 24 (n + 1) hours back, by hand. Unsigned, so never quieter than a caution.
    [
        ("sildenafil", 0, (0.0, 24.0), 24.0, Urgency.STOP_AND_THINK),
        ("Sildenafil 50 mg", 1, (0.0, 48.0), 24.0, Urgency.STOP_AND_THINK),
        ("sildenafil", 2, (24.0, 72.0), 24.0, Urgency.CAUTION),
        ("vardenafil", 1, (0.0, 48.0), 24.0, Urgency.STOP_AND_THINK),
        ("avanafil", 2, (24.0, 72.0), 24.0, Urgency.CAUTION),
        ("tadalafil", 2, (24.0, 72.0), 48.0, Urgency.STOP_AND_THINK),
        ("tadalafil", 3, (48.0, 96.0), 48.0, Urgency.CAUTION),
        ("sildenafil or tadalafil", 2, (24.0, 72.0), 48.0, Urgency.STOP_AND_THINK),
    ],
)
def test_window_is_judged_by_the_least_time_that_a_day_allows(
    drug: str, days_ago: int, hours: tuple[float, float], window_h: float, urgency: Urgency
) -> None:
    (advisory,) = pde5_window(taken(drug, days_ago), PROTOCOL)
    assert advisory.rule == "pde5-inhibitor-window"
    assert (advisory.low, advisory.high) == hours
    assert (advisory.limit, advisory.unit, advisory.urgency) == (window_h, "h", urgency)
    assert advisory.status is Status.FROM_MEMORY


def test_signed_window_that_is_past_is_quiet(tmp_path: Path) -> None:
    file = tmp_path / "site.toml"
    sign = 'signed_off_by = "Dr Invented"\nsigned_off_on = 2026-02-03\n'
    file.write_text(f"[limits.pde5-window-tadalafil]\n{sign}", encoding="utf-8")
    (past,) = pde5_window(taken("tadalafil", 3), load_protocol(file))
    assert past.urgency is Urgency.INFO


@pytest.mark.parametrize(
    ("drug", "days_ago", "missing", "words"),
    [
        (None, None, ("medication.pde5_drug", "medication.pde5_last_taken"), "Not recorded"),
        ("sildenafil", None, ("medication.pde5_last_taken",), "Not recorded"),
        (None, 30, ("medication.pde5_drug",), "Not recorded"),
        ("Zzyx pills", 30, (), "none that has a window here"),
        ("sildenafil", -1, (), "lies after the procedure"),
    ],
)
def test_window_that_cannot_be_judged_says_why_and_the_question_stops(
    drug: str | None, days_ago: int | None, missing: tuple[str, ...], words: str
) -> None:
    case = taken(drug, days_ago)
    (advisory,) = pde5_window(case, PROTOCOL)
    assert (advisory.urgency, advisory.missing) == (Urgency.CAUTION, missing)
    assert words in advisory.text
    assert "zzyx" not in f"{advisory.text} {advisory.inputs}".casefold()
    (question,) = nitrate_question(case)
    assert question.urgency is Urgency.STOP_AND_THINK


def test_question_leaves_the_judgement_to_the_window_once_drug_and_day_are_recorded() -> None:
    (question,) = nitrate_question(taken("sildenafil", 1))
    assert question.urgency is Urgency.INFO
    assert "pde5-inhibitor-window judges them" in question.text


# The pressure before each dose: 100 mmHg is common practice, no source.


def doses(*pressures: float | None) -> tuple[NitrateGiven, ...]:
    return tuple(NitrateGiven(mass_mg=0.1, systolic_before_mmhg=mmhg) for mmhg in pressures)


def test_nothing_is_said_before_the_first_nitrate() -> None:
    assert nitrate_given(facts(), PROTOCOL) == ()


@pytest.mark.parametrize(
    ("pressures", "lowest", "urgency"),
    [
        ((120.0,), 120.0, Urgency.INFO),
        ((120.0, 100.0), 100.0, Urgency.INFO),
        ((99.0, 120.0), 99.0, Urgency.STOP_AND_THINK),
    ],
)
def test_lowest_pressure_before_a_dose_is_held_against_the_floor(
    pressures: tuple[float, ...], lowest: float, urgency: Urgency
) -> None:
    (advisory,) = nitrate_given(facts(doses=doses(*pressures)), PROTOCOL)
    assert advisory.rule == "nitrate-blood-pressure"
    assert (advisory.value, advisory.limit, advisory.urgency) == (lowest, 100.0, urgency)
    assert advisory.status is Status.COMMON_PRACTICE


def test_total_nitrate_is_told() -> None:
    # By hand: 0.1 + 0.1 + 0.1 mg.
    (advisory,) = nitrate_given(facts(doses=doses(120.0, 118.0, 110.0)), PROTOCOL)
    assert advisory.inputs["nitrate given"] == "0.3 mg"
    assert "0.3 mg in 3 doses" in advisory.text


def test_dose_without_a_pressure_before_it_is_pointed_out() -> None:
    (advisory,) = nitrate_given(facts(doses=doses(120.0, None)), PROTOCOL)
    assert advisory.missing == ("given.nitrate.systolic_before",)
    assert (advisory.value, advisory.urgency) == (120.0, Urgency.CAUTION)
    (none_measured,) = nitrate_given(facts(doses=doses(None)), PROTOCOL)
    assert (none_measured.value, none_measured.urgency) == (None, Urgency.CAUTION)


def test_nitrate_given_although_an_inhibitor_is_recorded_stops() -> None:
    case = replace(taken("sildenafil", 1), given=Given(nitrate=doses(130.0)))
    (advisory,) = nitrate_given(case, PROTOCOL)
    assert advisory.urgency is Urgency.STOP_AND_THINK
    assert "phosphodiesterase-5 inhibitor is recorded as taken" in advisory.text


def test_nitrate_given_beyond_the_window_is_pointed_out_and_does_not_stop() -> None:
    # Window of tadalafil 48 h, from memory; by the day alone the last dose is 48 to 96 h ago.
    case = replace(taken("tadalafil", 3), given=Given(nitrate=doses(130.0)))
    (advisory,) = nitrate_given(case, PROTOCOL)
    assert advisory.urgency is Urgency.CAUTION
    assert "beyond its window" in advisory.text
    inside = replace(taken("tadalafil", 2), given=Given(nitrate=doses(130.0)))
    (stopped,) = nitrate_given(inside, PROTOCOL)
    assert stopped.urgency is Urgency.STOP_AND_THINK


def test_nitrate_given_before_anybody_asked_is_pointed_out() -> None:
    (advisory,) = nitrate_given(facts(Medication(), doses(130.0)), PROTOCOL)
    assert advisory.missing == ("medication.pde5_inhibitor",)
    assert advisory.urgency is Urgency.CAUTION
