"""The gates before the catheter: side, red flags, renal vein, nitrate, allergies."""

import datetime as dt
from dataclasses import replace

import pytest

from coilwright.advice import Advisory, Urgency
from coilwright.assessment import (
    Allergies,
    Conditions,
    Facts,
    Medication,
    Onset,
    Patient,
    Referral,
    RenalVein,
    SideCheck,
    Ultrasound,
)
from coilwright.assessment.allergies import known_allergies
from coilwright.assessment.identity_gate import identity_agreement
from coilwright.assessment.red_flags import red_flags
from coilwright.assessment.renal_vein import renal_vein_compression
from coilwright.assessment.side_gate import side_agreement
from coilwright.assessment.spasm_drugs import nitrate_question
from coilwright.assessment.stated_side import agreed_sides
from coilwright.protocol import load_protocol
from coilwright.veins import Side

PROTOCOL = load_protocol()
ON = dt.date(2026, 3, 12)
NO_VARIANT = RenalVein(
    compression_signs=False, occlusion=False, circumaortic=False, retroaortic=False
)


def facts(side: Side = Side.LEFT) -> Facts:
    return Facts(
        on=ON,
        patient=Patient(id="1", name="x", birth_date=dt.date(1990, 1, 1)),
        referral=Referral(sides=(side,)),
        ultrasound=(Ultrasound(side=side, other_side_affected=False),),
        consent=SideCheck(sides=(side,)),
        time_out=SideCheck(sides=(side,)),
        conditions=Conditions(
            onset=Onset.LONGSTANDING,
            acute_pain=False,
            empties_supine=True,
            renal_vein=NO_VARIANT,
        ),
    )


def conditions(base: Facts, **change: object) -> Facts:
    changed = replace(base.conditions, **change)  # type: ignore[arg-type]  # named per test
    return replace(base, conditions=changed)


def rules(advisories: tuple[Advisory, ...]) -> set[str]:
    return {a.rule for a in advisories}


# Side: REVIEW.md, Needed and missing, 4.


def test_sides_that_all_agree_pass_quietly() -> None:
    (advisory,) = side_agreement(facts())
    assert advisory.urgency is Urgency.INFO
    assert advisory.text == (
        "The sides agree: referral left, ultrasound left, consent left, time-out left."
    )


@pytest.mark.parametrize(
    "change",
    [
        {"referral": Referral(sides=(Side.RIGHT,))},
        {"ultrasound": (Ultrasound(side=Side.RIGHT),)},
        {"consent": SideCheck(sides=(Side.RIGHT,))},
        {"time_out": SideCheck(sides=(Side.RIGHT,))},
        {"run_sides": (Side.RIGHT,)},
    ],
)
def test_any_one_side_that_differs_stops(change: dict[str, object]) -> None:
    (advisory,) = side_agreement(replace(facts(), **change))  # type: ignore[arg-type]
    assert advisory.urgency is Urgency.STOP_AND_THINK
    assert advisory.text.startswith("The sides do not agree: ")


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"referral": Referral()}, "referral.side"),
        ({"ultrasound": ()}, "ultrasound.side"),
        ({"consent": SideCheck()}, "consent.side"),
        ({"time_out": SideCheck()}, "time_out.side"),
    ],
)
def test_side_that_is_not_recorded_is_named(change: dict[str, object], key: str) -> None:
    (advisory,) = side_agreement(replace(facts(), **change))  # type: ignore[arg-type]
    assert advisory.missing == (key,)
    assert advisory.urgency is Urgency.CAUTION


@pytest.mark.parametrize(
    "exams",
    [
        (Ultrasound(side=Side.LEFT, varicocele=False),),
        # The later one counts; of one day, the one that finds nothing is not passed over.
        (
            Ultrasound(side=Side.LEFT, varicocele=True, date=dt.date(2025, 3, 1)),
            Ultrasound(side=Side.LEFT, varicocele=False, date=dt.date(2026, 3, 1)),
        ),
        (
            Ultrasound(side=Side.LEFT, varicocele=True, date=dt.date(2026, 3, 1)),
            Ultrasound(side=Side.LEFT, varicocele=False, date=dt.date(2026, 3, 1)),
        ),
    ],
)
def test_ultrasound_that_found_the_side_free_stops(exams: tuple[Ultrasound, ...]) -> None:
    # REVIEW.md, Needed and missing, 4: whoever states the side must agree.
    base = replace(facts(), ultrasound=exams)
    (advisory,) = side_agreement(base)
    assert advisory.urgency is Urgency.STOP_AND_THINK
    assert "no varicocele on the left" in advisory.text
    assert advisory.missing == ()
    assert agreed_sides(base) == ()


def test_ultrasound_that_found_the_side_free_once_but_not_last_agrees() -> None:
    exams = (
        Ultrasound(side=Side.LEFT, varicocele=False, date=dt.date(2025, 3, 1)),
        Ultrasound(side=Side.LEFT, varicocele=True, date=dt.date(2026, 3, 1)),
    )
    (advisory,) = side_agreement(replace(facts(), ultrasound=exams))
    assert advisory.urgency is Urgency.INFO


def test_sides_that_differ_are_not_called_unrecorded() -> None:
    base = replace(facts(), consent=SideCheck(sides=(Side.RIGHT,)))
    (advisory,) = [a for a in red_flags(base, PROTOCOL) if a.missing]
    assert advisory.missing == ("one agreed side (referral, ultrasound)",)


def test_mismatch_stops_even_where_another_side_is_not_recorded() -> None:
    base = replace(facts(), time_out=SideCheck(), consent=SideCheck(sides=(Side.RIGHT,)))
    (advisory,) = side_agreement(base)
    assert advisory.urgency is Urgency.STOP_AND_THINK
    assert advisory.missing == ("time_out.side",)


def test_ultrasound_may_see_more_sides_than_are_treated_but_never_fewer() -> None:
    both = tuple(Ultrasound(side=side, varicocele=True) for side in Side)
    (more,) = side_agreement(replace(facts(), ultrasound=both))
    assert more.urgency is Urgency.INFO
    treated = replace(
        facts(),
        referral=Referral(sides=tuple(Side)),
        consent=SideCheck(sides=tuple(Side)),
        time_out=SideCheck(sides=tuple(Side)),
    )
    (fewer,) = side_agreement(treated)
    assert fewer.urgency is Urgency.STOP_AND_THINK
    assert "referral both, ultrasound left" in fewer.text


def test_a_side_that_ultrasound_found_healthy_is_not_one_that_it_names() -> None:
    exams = (Ultrasound(side=Side.LEFT), Ultrasound(side=Side.RIGHT, varicocele=False))
    (advisory,) = side_agreement(replace(facts(), ultrasound=exams))
    assert advisory.text.endswith("ultrasound left, consent left, time-out left.")


def test_one_side_of_two_does_not_agree_with_both() -> None:
    (advisory,) = side_agreement(replace(facts(), consent=SideCheck(sides=tuple(Side))))
    assert advisory.urgency is Urgency.STOP_AND_THINK


# The identity gate: practitioner's review, needed and missing 4.


def test_no_paper_with_an_id_is_a_gap_and_one_is_a_check() -> None:
    (unchecked,) = identity_agreement(facts())
    assert (unchecked.urgency, unchecked.missing) == (
        Urgency.CAUTION,
        ("consent.patient_id", "time_out.patient_id"),
    )
    (checked,) = identity_agreement(replace(facts(), consent=SideCheck(patient_id=" 1")))
    assert checked.urgency is Urgency.INFO


def test_another_patients_paper_stops_and_repeats_no_id() -> None:
    case = replace(facts(), ultrasound=(Ultrasound(side=Side.LEFT, patient_id="SECRET-2"),))
    (advisory,) = identity_agreement(case)
    assert advisory.urgency is Urgency.STOP_AND_THINK
    assert "stands in: ultrasound 1" in advisory.text
    assert "SECRET" not in f"{advisory.text}{advisory.inputs}"


# Red flags: CLINICAL.md 1.5.


def test_no_red_flag_recorded_is_said() -> None:
    assert rules(red_flags(facts(), PROTOCOL)) == {"red-flags-none"}


def test_isolated_right_shows_both_sides_of_the_evidence() -> None:
    (advisory,) = red_flags(facts(Side.RIGHT), PROTOCOL)
    assert advisory.rule == "red-flag-isolated-right"
    assert advisory.urgency is Urgency.STOP_AND_THINK
    # CLINICAL.md 1.5: Gleason 2/55 = 3.6 %; PubMed 33151361 0/210, upper bound 1.4 %.
    assert "3.6 % (2 of 55" in advisory.text
    assert "210 (upper bound 1.4 %, one-sided)" in advisory.text
    assert "evidence is in conflict" in advisory.text
    assert "imaging of kidneys, renal veins and retroperitoneum" in advisory.text
    assert "Gleason" in advisory.source
    assert "Robson" in advisory.source


def test_right_with_the_left_affected_too_is_not_isolated() -> None:
    both = replace(
        facts(Side.RIGHT), ultrasound=(Ultrasound(side=Side.RIGHT, other_side_affected=True),)
    )
    assert "red-flag-isolated-right" not in rules(red_flags(both, PROTOCOL))


def test_right_with_the_left_not_recorded_is_flagged_and_asked() -> None:
    unknown = replace(facts(Side.RIGHT), ultrasound=(Ultrasound(side=Side.RIGHT),))
    flags = {a.rule: a for a in red_flags(unknown, PROTOCOL)}
    assert "Possibly isolated" in flags["red-flag-isolated-right"].text
    assert flags["red-flags-not-recorded"].missing == ("ultrasound.other_side_affected",)


@pytest.mark.parametrize(
    ("born", "onset", "flagged"),
    # The site's age for "older" is 40: common practice, the papers give no number.
    [
        (dt.date(1986, 3, 12), Onset.NEW, True),
        (dt.date(1986, 3, 13), Onset.NEW, False),
        (dt.date(1960, 1, 1), Onset.LONGSTANDING, False),
    ],
)
def test_new_onset_is_a_flag_from_the_sites_age(born: dt.date, onset: Onset, flagged: bool) -> None:
    base = conditions(facts(), onset=onset)
    base = replace(base, patient=replace(base.patient, birth_date=born))
    assert ("red-flag-new-onset" in rules(red_flags(base, PROTOCOL))) is flagged


def test_new_onset_without_a_birth_date_asks_for_it() -> None:
    base = conditions(facts(), onset=Onset.NEW)
    base = replace(base, patient=replace(base.patient, birth_date=None))
    (advisory,) = red_flags(base, PROTOCOL)
    assert advisory.missing == ("patient.birth_date",)


@pytest.mark.parametrize(
    ("change", "rule", "next_step"),
    [
        ({"empties_supine": False}, "red-flag-not-emptying-supine", "retroperitoneum"),
        ({"acute_pain": True}, "red-flag-acute-pain", "Doppler ultrasound of the scrotum now"),
    ],
)
def test_other_red_flags_say_what_to_do_next(
    change: dict[str, bool], rule: str, next_step: str
) -> None:
    (advisory,) = red_flags(conditions(facts(), **change), PROTOCOL)
    assert advisory.rule == rule
    assert advisory.urgency is Urgency.STOP_AND_THINK
    assert next_step in advisory.text


def test_red_flags_that_nobody_asked_about_are_named_not_taken_as_absent() -> None:
    (advisory,) = red_flags(replace(facts(), conditions=Conditions()), PROTOCOL)
    assert advisory.missing == (
        "conditions.onset",
        "conditions.empties_supine",
        "conditions.acute_pain",
    )
    assert advisory.urgency is Urgency.CAUTION


# Renal vein: REVIEW.md, Truth and safety, 5; gradients of CLINICAL.md section 10.


@pytest.mark.parametrize("sign", ["compression_signs", "occlusion", "circumaortic", "retroaortic"])
def test_any_sign_stops_until_gradient_or_imaging_is_recorded(sign: str) -> None:
    signed = replace(NO_VARIANT, **{sign: True})  # type: ignore[arg-type]  # named per test
    (stopped,) = renal_vein_compression(conditions(facts(), renal_vein=signed), PROTOCOL)
    assert stopped.rule == "renal-vein-compression"
    assert stopped.urgency is Urgency.STOP_AND_THINK
    assert "may be the kidney's way out" in stopped.text
    assert stopped.missing == (
        "conditions.renal_vein.gradient",
        "conditions.renal_vein.imaging",
    )
    imaged = replace(signed, imaging="CT 2026-01-10: no pre-stenotic dilatation")
    (judged,) = renal_vein_compression(conditions(facts(), renal_vein=imaged), PROTOCOL)
    assert judged.urgency is Urgency.CAUTION
    assert judged.missing == ()


@pytest.mark.parametrize(
    ("gradient_mmhg", "urgency"),
    # CLINICAL.md section 10: below 1 normal, above 3 compression, between borderline.
    [
        (0.9, Urgency.INFO),
        (1.0, Urgency.CAUTION),
        (3.0, Urgency.CAUTION),
        (3.1, Urgency.STOP_AND_THINK),
    ],
)
def test_gradient_speaks_in_its_band(gradient_mmhg: float, urgency: Urgency) -> None:
    measured = replace(NO_VARIANT, gradient_mmhg=gradient_mmhg)
    (advisory,) = renal_vein_compression(conditions(facts(), renal_vein=measured), PROTOCOL)
    assert advisory.urgency is urgency
    assert advisory.value == gradient_mmhg


def test_renal_vein_signs_that_nobody_recorded_are_named() -> None:
    (advisory,) = renal_vein_compression(conditions(facts(), renal_vein=RenalVein()), PROTOCOL)
    assert len(advisory.missing) == 4
    assert advisory.urgency is Urgency.CAUTION


# Nitrate: REVIEW.md, Needed and missing, 2.


@pytest.mark.parametrize(
    ("pde5", "nitrate", "urgency", "missing"),
    [
        (False, False, Urgency.INFO, ()),
        (True, False, Urgency.STOP_AND_THINK, ()),
        (True, None, Urgency.STOP_AND_THINK, ("medication.nitrate",)),
        (False, True, Urgency.CAUTION, ()),
        (None, False, Urgency.CAUTION, ("medication.pde5_inhibitor",)),
        (None, None, Urgency.CAUTION, ("medication.pde5_inhibitor", "medication.nitrate")),
    ],
)
def test_nitrate_question_is_asked_before_spasm(
    pde5: bool | None, nitrate: bool | None, urgency: Urgency, missing: tuple[str, ...]
) -> None:
    medication = Medication(pde5_inhibitor=pde5, nitrate=nitrate)
    (advisory,) = nitrate_question(replace(facts(), medication=medication))
    assert advisory.urgency is urgency
    assert advisory.missing == missing


# Allergies: common practice.


def test_allergies_are_raised_asked_for_or_clear() -> None:
    clear = Allergies(contrast=False, local_anaesthetic=False, metal=False)
    (quiet,) = known_allergies(replace(facts(), allergies=clear))
    (asked,) = known_allergies(facts())
    (loud,) = known_allergies(replace(facts(), allergies=replace(clear, contrast=True)))
    assert quiet.urgency is Urgency.INFO
    assert asked.missing == (
        "allergies.contrast",
        "allergies.local_anaesthetic",
        "allergies.metal",
    )
    assert "contrast-allergy-pathway" in loud.text
    # The pathway's own rule stops for contrast; here a second voice would say the same.
    assert loud.urgency is Urgency.INFO


@pytest.mark.parametrize("what", ["local_anaesthetic", "metal"])
def test_allergy_that_no_other_rule_follows_up_stops(what: str) -> None:
    allergies = Allergies(
        contrast=True, local_anaesthetic=what == "local_anaesthetic", metal=what == "metal"
    )
    (loud,) = known_allergies(replace(facts(), allergies=allergies))
    assert loud.urgency is Urgency.STOP_AND_THINK
    assert f"({what.replace('_', ' ')})" in loud.text
