"""Lidocaine: ceilings by label, what was given, what is left."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment import (
    Facts,
    Given,
    LidocaineGiven,
    Patient,
    PlannedAnaesthetic,
    Sex,
)
from coilwright.assessment.local_anaesthetic import lidocaine_ceiling_mg, lidocaine_totals
from coilwright.protocol import Protocol, load_protocol

PROTOCOL = load_protocol()
ON = dt.date(2026, 3, 12)
WHO = 'why = "w"\nchanged_by = "Dr Invented"\nchanged_on = 2026-02-03\n'


def facts(weight_kg: float | None = 70.0, *doses: LidocaineGiven) -> Facts:
    return Facts(
        on=ON,
        patient=Patient(
            id="1",
            name="x",
            birth_date=dt.date(1990, 1, 1),
            sex=Sex.MALE,
            weight_kg=weight_kg,
            height_cm=200.0,  # tall, so that no weight in these tests is obesity
        ),
        anaesthetic=PlannedAnaesthetic(strength_mg_per_ml=10.0, adrenaline=False),
        given=Given(lidocaine=doses),
    )


def dose(volume_ml: float, *, adrenaline: bool = False) -> LidocaineGiven:
    return LidocaineGiven(strength_mg_per_ml=10.0, volume_ml=volume_ml, adrenaline=adrenaline)


def total(base: Facts, rule: str, protocol: Protocol = PROTOCOL) -> Advisory:
    (advisory,) = [a for a in lidocaine_totals(base, protocol) if a.rule == rule]
    return advisory


def bnf(folder: Path) -> Protocol:
    file = folder / "site.toml"
    file.write_text(f'[choices.lidocaine-label]\nvalue = "bnf"\n{WHO}', encoding="utf-8")
    return load_protocol(file)


@pytest.mark.parametrize(
    ("weight_kg", "plain_mg", "adrenaline_mg"),
    # CLINICAL.md 5.1, vectors of the US label (with adrenaline capped from 71.5 kg).
    [
        (50.0, 225.0, 350.0),
        (66.0, 297.0, 462.0),
        (70.0, 300.0, 490.0),
        (71.5, 300.0, 500.0),
        (80.0, 300.0, 500.0),
        (100.0, 300.0, 500.0),
    ],
)
def test_us_label_gives_the_vectors(
    weight_kg: float, plain_mg: float, adrenaline_mg: float
) -> None:
    plain = total(facts(weight_kg), "lidocaine-plain-max")
    assert plain.limit == plain_mg
    assert total(facts(weight_kg), "lidocaine-adrenaline-max").limit == adrenaline_mg
    assert plain.status is Status.PUBLISHED
    assert "US label" in plain.text


def test_ceiling_of_fifty_kg_is_twenty_two_and_a_half_ml_of_one_per_cent() -> None:
    # CLINICAL.md 5.1: 50 kg -> 225 mg (22.5 mL of 1 %).
    text = total(facts(50.0), "lidocaine-plain-max").text
    assert "ceiling 225 mg (22.5 mL of 1 %)" in text


@pytest.mark.parametrize("weight_kg", [45.0, 70.0, 120.0, None])
def test_bnf_gives_two_hundred_mg_to_any_adult(weight_kg: float | None, tmp_path: Path) -> None:
    # CLINICAL.md 5.1: BNF, any adult plain -> 200 mg (20 mL of 1 %); with adrenaline 500 mg.
    protocol = bnf(tmp_path)
    plain = total(facts(weight_kg), "lidocaine-plain-max", protocol)
    assert plain.limit == 200.0
    assert "(20.0 mL of 1 %)" in plain.text
    assert plain.status is Status.RESTATED
    assert total(facts(weight_kg), "lidocaine-adrenaline-max", protocol).limit == 500.0


def test_what_is_left_is_said_in_mg_and_ml() -> None:
    # By hand: 300 mg less 8 mL x 10 mg/mL = 220 mg = 22.0 mL of 1 %.
    advisory = total(facts(70.0, dose(8.0)), "lidocaine-plain-max")
    assert advisory.value == 80.0
    assert "Left 220 mg (22.0 mL of 1 %)" in advisory.text
    assert advisory.urgency is Urgency.INFO


def test_doses_of_both_kinds_use_up_shares_that_add_up() -> None:
    # By hand, 70 kg: 150 of 300 mg plain is a half, so half of 490 mg with adrenaline is left.
    base = facts(70.0, dose(15.0))
    assert "Left 245 mg (24.5 mL of 1 %)" in total(base, "lidocaine-adrenaline-max").text
    # and 294 mg with adrenaline (0.6) on top passes the whole.
    both = facts(70.0, dose(15.0), dose(29.4, adrenaline=True))
    assert total(both, "lidocaine-plain-max").urgency is Urgency.STOP_AND_THINK
    assert total(both, "lidocaine-adrenaline-max").urgency is Urgency.STOP_AND_THINK
    assert "Left 0 mg" in total(both, "lidocaine-plain-max").text


@pytest.mark.parametrize(
    ("volume_ml", "urgency"),
    # The site's pointing-out share is 80 %: of 300 mg, 24 mL of 1 %.
    [(23.9, Urgency.INFO), (24.0, Urgency.CAUTION), (30.1, Urgency.STOP_AND_THINK)],
)
def test_total_speaks_up_near_and_above_its_ceiling(volume_ml: float, urgency: Urgency) -> None:
    advisory = total(facts(70.0, dose(volume_ml)), "lidocaine-plain-max")
    assert advisory.urgency is urgency


def test_without_a_weight_there_is_no_us_ceiling() -> None:
    advisory = total(facts(None), "lidocaine-plain-max")
    assert advisory.limit is None
    assert advisory.missing == ("patient.weight",)
    assert advisory.urgency is Urgency.CAUTION


def test_without_a_strength_in_use_there_are_no_ml() -> None:
    advisory = total(replace(facts(), anaesthetic=None), "lidocaine-plain-max")
    assert "strength in use not recorded, so no mL" in advisory.text


def test_without_a_birth_date_the_reader_is_told_that_a_child_may_have_less() -> None:
    base = facts()
    unknown = replace(base, patient=replace(base.patient, birth_date=None))
    advisory = total(unknown, "lidocaine-plain-max")
    assert advisory.missing == ("patient.birth_date",)
    assert advisory.urgency is Urgency.CAUTION


def test_child_has_no_more_than_three_mg_per_kg() -> None:
    # CLINICAL.md 5.1, folk rule row [V]: children 3 mg/kg; by hand 40 kg -> 120 mg.
    base = facts(40.0)
    child = replace(base, patient=replace(base.patient, birth_date=dt.date(2013, 1, 1)))
    assert total(child, "lidocaine-plain-max").limit == 120.0
    assert total(child, "lidocaine-adrenaline-max").limit == 120.0


def test_obese_adult_is_reckoned_on_ideal_weight_and_told_it_is_from_memory() -> None:
    # By hand, Devine: 160 cm = 62.992 inch; 50 + 2.3 x 2.992 = 56.88 kg; x 4.5 = 255.97 mg.
    base = facts(100.0)
    obese = replace(base, patient=replace(base.patient, height_cm=160.0))
    advisory = total(obese, "lidocaine-plain-max")
    assert advisory.limit == pytest.approx(255.97, abs=0.01)
    assert "ideal weight of 57 kg" in advisory.text
    assert advisory.urgency is Urgency.CAUTION
    assert "not signed off by the site" in advisory.text


def test_obese_adult_of_unknown_sex_has_no_ceiling_by_weight() -> None:
    base = facts(100.0)
    obese = replace(base, patient=replace(base.patient, height_cm=160.0, sex=None))
    advisory = total(obese, "lidocaine-plain-max")
    assert advisory.limit is None
    assert advisory.missing == ("patient.sex",)


def test_adult_without_a_height_is_told_that_obesity_was_not_checked() -> None:
    base = facts()
    unmeasured = replace(base, patient=replace(base.patient, height_cm=None))
    advisory = total(unmeasured, "lidocaine-plain-max")
    assert advisory.limit == 300.0
    assert advisory.missing == ("patient.height",)
    assert "could not be checked" in advisory.text


@given(
    st.floats(min_value=1.0, max_value=300.0),
    st.floats(min_value=0.0, max_value=100.0),
    st.booleans(),
)
def test_ceiling_never_falls_with_weight(weight_kg: float, more_kg: float, plain: bool) -> None:
    rule = "lidocaine-plain-max" if plain else "lidocaine-adrenaline-max"
    lighter, heavier = (
        lidocaine_ceiling_mg(per_kg_mg=4.5 if plain else 7.0, maximum_mg=300.0, weight_kg=kg)
        for kg in (weight_kg, weight_kg + more_kg)
    )
    assert lighter is not None
    assert heavier is not None
    assert lighter <= heavier <= 300.0, rule
