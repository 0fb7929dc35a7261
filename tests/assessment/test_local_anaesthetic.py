"""Local anaesthetics: ceilings by label, what was given, what is left, shares that add up."""

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
    LocalAnaesthetic,
    OtherAnaestheticGiven,
    Patient,
    PlannedAnaesthetic,
    Sex,
)
from coilwright.assessment.dosing_weight import dosing_weight
from coilwright.assessment.lidocaine_ceiling import lidocaine_base_mg, lidocaine_ceiling_mg
from coilwright.assessment.local_anaesthetic import lidocaine_totals, local_anaesthetic_totals
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
    (advisory,) = [a for a in local_anaesthetic_totals(base, protocol) if a.rule == rule]
    return advisory


def other(
    drug: LocalAnaesthetic, mg_per_ml: float, volume_ml: float, *, adrenaline: bool = False
) -> OtherAnaestheticGiven:
    return OtherAnaestheticGiven(
        drug=drug, strength_mg_per_ml=mg_per_ml, volume_ml=volume_ml, adrenaline=adrenaline
    )


def with_others(base: Facts, *doses: OtherAnaestheticGiven) -> Facts:
    return replace(base, given=replace(base.given, other_anaesthetics=doses))


def by_label(folder: Path, label: str) -> Protocol:
    file = folder / "site.toml"
    file.write_text(f'[choices.lidocaine-label]\nvalue = "{label}"\n{WHO}', encoding="utf-8")
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
    protocol = by_label(tmp_path, "bnf")
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
    # and the rule of all agents stops; each of the two is within its own ceiling.
    assert total(both, "local-anaesthetic-joint-max").urgency is Urgency.STOP_AND_THINK
    assert total(both, "lidocaine-plain-max").urgency is Urgency.CAUTION
    assert total(both, "lidocaine-adrenaline-max").urgency is Urgency.CAUTION
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
    # 120 mg by every label and by the rule of thumb: nothing disagrees.
    assert "Other sources agree" in total(child, "lidocaine-plain-max").text


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


def test_the_ceiling_stands_in_ml_among_the_inputs() -> None:
    # CLINICAL.md 5.1: 50 kg -> 22.5 mL of 1 %; US label.
    inputs = total(facts(50.0), "lidocaine-plain-max").inputs
    assert inputs["ceiling in mL"] == "22.5 mL of 1 %"
    assert inputs["strengths and masses"] == "of lidocaine hydrochloride"


def test_hydrochloride_is_turned_into_base_as_the_product_summary_prints_it() -> None:
    # CLINICAL.md 5.1: 20 mg HCl.H2O = 16.22 mg base, 10 mg = 8.1 mg.
    assert round(lidocaine_base_mg(20.0, PROTOCOL), 2) == 16.22
    assert round(lidocaine_base_mg(10.0, PROTOCOL), 1) == 8.1
    # By molar mass: base C14H22N2O 234.34, monohydrate of the hydrochloride 288.82 g/mol.
    assert lidocaine_base_mg(1.0, PROTOCOL) == pytest.approx(234.34 / 288.82, abs=0.001)
    assert total(facts(70.0, dose(2.0)), "lidocaine-plain-max").inputs["given, as base"] == (
        "16.22 mg"
    )


@pytest.mark.parametrize(
    ("weight_kg", "plain_mg"),
    # CLINICAL.md 5.1, HPRA 2 %: 4.5 mg/kg, at most 200 mg; by hand 40 x 4.5 = 180.
    [(40.0, 180.0), (44.4, 199.8), (44.5, 200.0), (100.0, 200.0)],
)
def test_irish_summary_has_both_a_weight_and_a_maximum(
    weight_kg: float, plain_mg: float, tmp_path: Path
) -> None:
    protocol = by_label(tmp_path, "ie-smpc")
    plain = total(facts(weight_kg), "lidocaine-plain-max", protocol)
    assert plain.limit == pytest.approx(plain_mg, rel=1e-12)
    assert "by the Irish and UK product summaries" in plain.text
    assert total(facts(weight_kg), "lidocaine-adrenaline-max", protocol).limit == 500.0


def test_what_the_other_sources_allow_stays_in_sight() -> None:
    # CLINICAL.md 5.1 and 13.2: BNF and summaries 200 mg; rule of thumb 3 x 70 = 210 mg [M].
    text = total(facts(70.0), "lidocaine-plain-max").text
    assert "British National Formulary, 200 mg" in text
    assert "Irish and UK product summaries, 200 mg" in text
    assert "rule of thumb of 3 mg/kg, 210 mg, from memory" in text


@pytest.mark.parametrize(
    ("drug", "adrenaline", "limit_mg"),
    # From memory (no primary text seen), 70 kg, by hand: bupivacaine US 2.5 x 70 = 175, at most
    # 175; 3 x 70 = 210; levobupivacaine 2 x 70; mepivacaine 4.4 x 70 = 308, at most 300;
    # 7 x 70 = 490; prilocaine 6 x 70 = 420, at most 400; 8 x 70 = 560; ropivacaine at most 200.
    [
        (LocalAnaesthetic.BUPIVACAINE, False, 175.0),
        (LocalAnaesthetic.BUPIVACAINE, True, 210.0),
        (LocalAnaesthetic.LEVOBUPIVACAINE, False, 140.0),
        (LocalAnaesthetic.MEPIVACAINE, False, 300.0),
        (LocalAnaesthetic.MEPIVACAINE, True, 490.0),
        (LocalAnaesthetic.PRILOCAINE, False, 400.0),
        (LocalAnaesthetic.PRILOCAINE, True, 560.0),
        (LocalAnaesthetic.ROPIVACAINE, True, 200.0),
    ],
)
def test_other_agent_has_its_own_ceiling_that_never_looks_satisfied(
    drug: LocalAnaesthetic, adrenaline: bool, limit_mg: float
) -> None:
    base = with_others(facts(70.0), other(drug, 5.0, 4.0, adrenaline=adrenaline))
    advisory = total(base, f"{drug.value}-max")
    assert advisory.limit == pytest.approx(limit_mg, rel=1e-12)
    assert advisory.value == 20.0
    assert advisory.status is Status.FROM_MEMORY
    assert advisory.urgency is Urgency.CAUTION
    assert "not signed off by the site" in advisory.text


def test_bupivacaine_follows_the_label_and_names_the_other(tmp_path: Path) -> None:
    # From memory: BNF 2 mg/kg, at most 150 mg; US label at most 175 mg. By hand 70 kg -> 140 mg.
    base = with_others(facts(70.0), other(LocalAnaesthetic.BUPIVACAINE, 5.0, 4.0))
    advisory = total(base, "bupivacaine-max", by_label(tmp_path, "bnf"))
    assert advisory.limit == 140.0
    assert "175 mg by the US label, 150 mg by the British National Formulary" in advisory.text


def test_agent_given_without_and_with_adrenaline_has_the_lower_ceiling() -> None:
    drug = LocalAnaesthetic.PRILOCAINE
    both = (other(drug, 10.0, 10.0), other(drug, 10.0, 10.0, adrenaline=True))
    advisory = total(with_others(facts(70.0), *both), "prilocaine-max")
    assert (advisory.value, advisory.limit) == (200.0, 400.0)
    assert "the lower ceiling holds" in advisory.text


def test_shares_of_several_agents_add_up() -> None:
    # By hand, 70 kg: 15 mL of 1 % lidocaine is 150 of 300 mg, 50 %; 7 mL of 0.5 % bupivacaine is
    # 35 of 175 mg, 20 %. Together 70 %; left 30 %, of 300 mg plain 90 mg = 9.0 mL of 1 %.
    base = with_others(facts(70.0, dose(15.0)), other(LocalAnaesthetic.BUPIVACAINE, 5.0, 7.0))
    joint = total(base, "local-anaesthetic-joint-max")
    assert joint.value == pytest.approx(70.0, rel=1e-12)
    assert (joint.limit, joint.unit) == (100.0, "%")
    assert "common practice, no source" in joint.source
    plain = total(base, "lidocaine-plain-max")
    assert plain.value == 150.0
    assert "Left 90 mg (9.0 mL of 1 %) after the shares of the other" in plain.text
    assert plain.status is Status.FROM_MEMORY  # what is left rests on bupivacaine's ceiling


@pytest.mark.parametrize(
    ("lidocaine_ml", "urgency"),
    # By hand: bupivacaine 87.5 of 175 mg is 50 %; lidocaine 149 and 151 of 300 mg.
    [(14.9, Urgency.CAUTION), (15.1, Urgency.STOP_AND_THINK)],
)
def test_two_agents_below_their_ceilings_may_pass_the_whole_together(
    lidocaine_ml: float, urgency: Urgency
) -> None:
    half = other(LocalAnaesthetic.BUPIVACAINE, 5.0, 17.5)
    base = with_others(facts(70.0, dose(lidocaine_ml)), half)
    assert total(base, "local-anaesthetic-joint-max").urgency is urgency
    # One voice stops: lidocaine is within its own ceiling, and none of it is left.
    plain = total(base, "lidocaine-plain-max")
    assert plain.urgency is Urgency.CAUTION
    assert (plain.left == 0.0) is (urgency is Urgency.STOP_AND_THINK)


def test_lidocaine_above_its_own_ceiling_stops_and_the_other_kind_only_cautions() -> None:
    # By hand, 70 kg: 310 mg is above 300 mg plain; nothing with adrenaline was given.
    over = facts(70.0, dose(31.0))
    assert total(over, "lidocaine-plain-max").urgency is Urgency.STOP_AND_THINK
    assert total(over, "lidocaine-adrenaline-max").urgency is Urgency.CAUTION


def test_joint_total_is_issued_from_the_second_agent_on() -> None:
    def joint(base: Facts) -> list[Advisory]:
        rule = "local-anaesthetic-joint-max"
        return [a for a in local_anaesthetic_totals(base, PROTOCOL) if a.rule == rule]

    assert joint(facts(70.0)) == []
    assert joint(facts(70.0, dose(5.0))) == []
    assert joint(with_others(facts(70.0), other(LocalAnaesthetic.ROPIVACAINE, 2.0, 5.0))) == []
    # By hand: 30 of 300 mg and 49 of 490 mg are a tenth each.
    (both,) = joint(facts(70.0, dose(3.0), dose(4.9, adrenaline=True)))
    assert both.value == pytest.approx(20.0, rel=1e-12)
    assert both.status is Status.COMMON_PRACTICE


def test_share_that_cannot_be_computed_is_named_and_nothing_is_left() -> None:
    base = with_others(facts(None, dose(5.0)), other(LocalAnaesthetic.ROPIVACAINE, 2.0, 5.0))
    joint = total(base, "local-anaesthetic-joint-max")
    assert joint.value is None
    assert joint.missing == ("patient.weight",)
    assert "lidocaine without adrenaline, ropivacaine cannot be computed" in joint.text
    assert "Left" not in total(base, "lidocaine-plain-max").text


def test_unknown_share_beside_a_flat_ceiling_leaves_no_figure(tmp_path: Path) -> None:
    # BNF: lidocaine 200 mg needs no weight, ropivacaine does; 250 mg passes the whole alone.
    protocol = by_label(tmp_path, "bnf")
    ropivacaine = other(LocalAnaesthetic.ROPIVACAINE, 2.0, 5.0)
    within = with_others(facts(None, dose(5.0)), ropivacaine)
    text = total(within, "lidocaine-plain-max", protocol).text
    assert "What is left cannot be computed: the share of ropivacaine is not known" in text
    over = with_others(facts(None, dose(25.0)), ropivacaine)
    joint = total(over, "local-anaesthetic-joint-max", protocol)
    assert joint.urgency is Urgency.STOP_AND_THINK
    assert joint.value == pytest.approx(125.0, rel=1e-12)
    assert "at least 125 %" in joint.text


def test_short_obese_adult_has_no_ideal_weight_by_the_formula() -> None:
    # Devine begins at 60 inches; by hand 95 cm = 37.4 inch would give 50 - 52 = -2 kg.
    base = facts(60.0)
    short = replace(base, patient=replace(base.patient, height_cm=95.0))
    advisory = total(short, "lidocaine-plain-max")
    assert advisory.limit is None
    assert advisory.urgency is Urgency.CAUTION
    assert "set the dosing weight by hand" in advisory.text


def test_obese_child_is_pointed_out() -> None:
    # By hand: 90 kg at 165 cm is 33 kg/m2; 3 x 90 = 270 mg.
    base = facts(90.0)
    patient = replace(base.patient, birth_date=dt.date(2011, 1, 1), height_cm=165.0)
    advisory = total(replace(base, patient=patient), "lidocaine-plain-max")
    assert advisory.limit == 270.0
    assert advisory.urgency is Urgency.CAUTION
    assert "may be too high" in advisory.text


@given(
    st.floats(min_value=20.0, max_value=300.0),
    st.floats(min_value=50.0, max_value=220.0),
    st.sampled_from([None, 8, 16, 30, 70]),
)
def test_dosing_weight_is_above_nothing_and_never_above_the_actual_one(
    weight_kg: float, height_cm: float, age: int | None
) -> None:
    base = facts(weight_kg)
    measured = replace(base, patient=replace(base.patient, height_cm=height_cm))
    dosing_kg = dosing_weight(measured, PROTOCOL, age).weight_kg
    assert dosing_kg is None or 0.0 < dosing_kg <= weight_kg


@given(
    st.floats(min_value=10.0, max_value=119.0),
    st.floats(min_value=0.0, max_value=100.0),
    st.sampled_from(["lidocaine-plain-max", "lidocaine-adrenaline-max"]),
    st.booleans(),
)
def test_no_heavier_patient_has_a_lower_ceiling_below_obesity(
    weight_kg: float, more_kg: float, rule: str, child: bool
) -> None:
    # 200 cm: a body mass index of 30 is 120 kg; there ideal weight steps in (see dosing_weight).
    heavier_kg = min(weight_kg + more_kg, 119.0)
    born = dt.date(2012, 1, 1) if child else dt.date(1990, 1, 1)

    def ceiling(kg: float) -> float:
        base = facts(kg, dose(1.0))
        limit = total(replace(base, patient=replace(base.patient, birth_date=born)), rule).limit
        assert limit is not None
        return limit

    assert ceiling(weight_kg) <= ceiling(heavier_kg)


def test_every_anaesthetic_advisory_has_a_source_and_a_status() -> None:
    base = with_others(
        facts(70.0, dose(5.0), dose(2.0, adrenaline=True)),
        *(other(drug, 5.0, 1.0) for drug in LocalAnaesthetic),
    )
    advisories = local_anaesthetic_totals(base, PROTOCOL)
    assert len(advisories) == 2 + 5 + 1
    assert all(a.source.strip() and isinstance(a.status, Status) for a in advisories)
    assert {a.rule for a in lidocaine_totals(base, PROTOCOL)} < {a.rule for a in advisories}
