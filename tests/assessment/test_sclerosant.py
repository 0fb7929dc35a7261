"""Sclerosant: ceilings by drug and label, foam, joint effect, cautions."""

import datetime as dt
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given as given_values
from hypothesis import strategies as st

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment import (
    Allergies,
    Conditions,
    Facts,
    Given,
    LidocaineGiven,
    LocalAnaesthetic,
    OtherAnaestheticGiven,
    Patient,
    PlannedSclerosant,
    SclerosantDrug,
    SclerosantGiven,
)
from coilwright.assessment.foam import foam_mean_mg_per_ml, foam_volume_ml
from coilwright.assessment.sclerosant import sclerosant_totals
from coilwright.protocol import Protocol, load_protocol

PROTOCOL = load_protocol()
STS, POLIDOCANOL = SclerosantDrug.STS, SclerosantDrug.POLIDOCANOL
WHO = 'why = "w"\nchanged_by = "Dr Invented"\nchanged_on = 2026-02-03\n'


def dose(
    drug: SclerosantDrug, mg_per_ml: float, liquid: float, gas: float = 0.0
) -> SclerosantGiven:
    return SclerosantGiven(drug=drug, strength_mg_per_ml=mg_per_ml, liquid_ml=liquid, gas_ml=gas)


def microfoam(volume_ml: float) -> SclerosantGiven:
    return SclerosantGiven(
        drug=POLIDOCANOL, strength_mg_per_ml=10.0, liquid_ml=0.0, microfoam_ml=volume_ml
    )


def facts(*doses: SclerosantGiven, weight_kg: float | None = 70.0) -> Facts:
    return Facts(
        on=dt.date(2026, 3, 12),
        patient=Patient(id="1", name="x", weight_kg=weight_kg),
        given=Given(sclerosant=doses),
    )


def by_rule(base: Facts, rule: str, protocol: Protocol = PROTOCOL) -> Advisory:
    (advisory,) = [a for a in sclerosant_totals(base, protocol) if a.rule == rule]
    return advisory


def with_choice(folder: Path, id: str, value: str) -> Protocol:
    file = folder / "site.toml"
    file.write_text(f'[choices.{id}]\nvalue = "{value}"\n{WHO}', encoding="utf-8")
    return load_protocol(file)


def test_case_that_names_no_sclerosant_has_no_advisory_on_it() -> None:
    assert sclerosant_totals(facts(), PROTOCOL) == ()


@pytest.mark.parametrize(
    ("liquid_ml", "urgency"),
    # CLINICAL.md 4.3, US label: 10 mL in the session; 8 mL is the site's share of 80 %.
    [(7.9, Urgency.INFO), (8.0, Urgency.CAUTION), (10.1, Urgency.STOP_AND_THINK)],
)
def test_sts_follows_the_us_label(liquid_ml: float, urgency: Urgency) -> None:
    advisory = by_rule(facts(dose(STS, 30.0, liquid_ml)), "sts-session-max")
    assert advisory.limit == 10.0
    assert advisory.urgency is urgency
    assert "Off-label in the gonadal vein" in advisory.text


def test_foam_counts_with_its_gas_and_its_mass_is_in_the_liquid() -> None:
    # CLINICAL.md 4.3, foam vector: 2 mL of 3 % and 8 mL of gas -> 10 mL of foam, 60 mg.
    foam = dose(STS, 30.0, 2.0, 8.0)
    assert (foam.injected_ml, foam.mass_mg) == (10.0, 60.0)
    assert by_rule(facts(foam), "sts-session-max").value == 10.0


@pytest.mark.parametrize(
    ("given", "limit_ml"),
    # CLINICAL.md 4.3, UK summary [M]: 3 % liquid 4 mL, weaker 10 mL, foam 16 mL.
    [
        (dose(STS, 30.0, 1.0), 4.0),
        (dose(STS, 10.0, 1.0), 10.0),
        (dose(STS, 30.0, 1.0, 4.0), 16.0),
    ],
)
def test_sts_by_the_uk_label_goes_by_strength_and_form(
    given: SclerosantGiven, limit_ml: float, tmp_path: Path
) -> None:
    advisory = by_rule(
        facts(given), "sts-session-max", with_choice(tmp_path, "sts-label", "uk-label")
    )
    assert advisory.limit == limit_ml
    assert advisory.status is Status.FROM_MEMORY
    assert advisory.urgency is Urgency.CAUTION


def test_polidocanol_at_seventy_kg_is_the_hundred_and_forty_mg_of_the_leaflet() -> None:
    # CLINICAL.md 4.3, Austrian leaflet: 70 kg -> 140 mg = 7 mL of 2 %.
    advisory = by_rule(facts(dose(POLIDOCANOL, 20.0, 7.0)), "polidocanol-daily-max")
    assert (advisory.value, advisory.limit) == (140.0, 140.0)
    assert advisory.urgency is Urgency.CAUTION
    more = by_rule(facts(dose(POLIDOCANOL, 20.0, 7.1)), "polidocanol-daily-max")
    assert more.urgency is Urgency.STOP_AND_THINK


def test_polidocanol_foam_has_ten_ml_whatever_the_weight() -> None:
    # CLINICAL.md 4.3: foam 10 mL in session and day, whatever weight and strength.
    foam = dose(POLIDOCANOL, 5.0, 2.2, 8.8)
    for weight_kg in (40.0, 140.0):
        advisory = by_rule(facts(foam, weight_kg=weight_kg), "polidocanol-session-max")
        assert advisory.limit == 10.0
        assert advisory.urgency is Urgency.STOP_AND_THINK


def test_polidocanol_without_a_weight_names_it() -> None:
    advisory = by_rule(facts(dose(POLIDOCANOL, 20.0, 1.0), weight_kg=None), "polidocanol-daily-max")
    assert advisory.missing == ("patient.weight",)
    assert advisory.limit is None


def test_polidocanol_by_the_us_label_has_ten_ml(tmp_path: Path) -> None:
    # CLINICAL.md 4.3, US: 10 mL in the session.
    protocol = with_choice(tmp_path, "polidocanol-label", "us-label")
    advisory = by_rule(facts(dose(POLIDOCANOL, 10.0, 2.0)), "polidocanol-session-max", protocol)
    assert (advisory.value, advisory.limit) == (2.0, 10.0)


def test_polidocanol_after_lidocaine_warns_of_the_joint_effect() -> None:
    lidocaine = LidocaineGiven(strength_mg_per_ml=10.0, volume_ml=8.0, adrenaline=False)
    base = facts(dose(POLIDOCANOL, 20.0, 1.0))
    both = replace(base, given=replace(base.given, lidocaine=(lidocaine,)))
    advisory = by_rule(both, "polidocanol-with-local-anaesthetic")
    assert advisory.inputs == {"lidocaine given": "80 mg", "polidocanol given": "20 mg"}
    assert "polidocanol-with-local-anaesthetic" not in {
        a.rule for a in sclerosant_totals(base, PROTOCOL)
    }


def test_cautions_are_raised_asked_for_or_clear() -> None:
    planned = PlannedSclerosant(drug=STS, strength_mg_per_ml=30.0, foam=True)
    unasked = replace(facts(), sclerosant=planned)
    clear = replace(
        unasked,
        allergies=Allergies(sclerosant=False),
        conditions=Conditions(
            right_to_left_shunt=False,
            stroke_or_tia=False,
            migraine=False,
            pulmonary_hypertension=False,
            thrombosis_risk=False,
        ),
    )
    shunt = replace(clear, conditions=replace(clear.conditions, right_to_left_shunt=True))
    assert len(by_rule(unasked, "sclerosant-cautions").missing) == 6
    assert by_rule(unasked, "sclerosant-cautions").urgency is Urgency.CAUTION
    assert by_rule(clear, "sclerosant-cautions").urgency is Urgency.INFO
    assert by_rule(shunt, "sclerosant-cautions").urgency is Urgency.STOP_AND_THINK
    assert "right-to-left shunt" in by_rule(shunt, "sclerosant-cautions").text


@pytest.mark.parametrize(
    ("condition", "foam", "urgency"),
    # Leaflets name all of them as cautions [V]; which of them stops is common practice.
    [
        ({"right_to_left_shunt": True}, None, Urgency.STOP_AND_THINK),
        ({"right_to_left_shunt": True}, False, Urgency.CAUTION),
        ({"stroke_or_tia": True}, True, Urgency.STOP_AND_THINK),
        ({"migraine": True}, True, Urgency.CAUTION),
        ({"thrombosis_risk": True}, True, Urgency.CAUTION),
    ],
)
def test_gas_with_a_way_to_the_brain_stops_and_a_migraine_is_a_caution(
    condition: dict[str, Any], foam: bool | None, urgency: Urgency
) -> None:
    planned = PlannedSclerosant(drug=STS, strength_mg_per_ml=30.0, foam=foam)
    case = replace(
        facts(),
        sclerosant=planned,
        allergies=Allergies(sclerosant=False),
        conditions=Conditions(**condition),
    )
    assert by_rule(case, "sclerosant-cautions").urgency is urgency


def test_foam_given_to_a_patient_with_a_shunt_stops_although_liquid_was_planned() -> None:
    planned = PlannedSclerosant(drug=STS, strength_mg_per_ml=30.0, foam=False)
    case = replace(
        facts(dose(STS, 30.0, 1.0, 4.0)),
        sclerosant=planned,
        conditions=Conditions(right_to_left_shunt=True),
    )
    assert by_rule(case, "sclerosant-cautions").urgency is Urgency.STOP_AND_THINK


def test_allergy_to_the_sclerosant_stops_in_any_form() -> None:
    planned = PlannedSclerosant(drug=STS, strength_mg_per_ml=30.0, foam=False)
    case = replace(facts(), sclerosant=planned, allergies=Allergies(sclerosant=True))
    assert by_rule(case, "sclerosant-cautions").urgency is Urgency.STOP_AND_THINK


def test_child_is_told_that_no_ceiling_was_made_for_one() -> None:
    base = facts(dose(POLIDOCANOL, 20.0, 1.0))
    child = replace(base, patient=replace(base.patient, birth_date=dt.date(2016, 9, 1)))
    assert "The patient is 9: no ceiling" in by_rule(child, "sclerosant-cautions").text
    assert "no ceiling" not in by_rule(base, "sclerosant-cautions").text


def test_foam_gives_the_vector_of_two_ml_of_three_per_cent() -> None:
    # CLINICAL.md 4.3 [C]: 2 mL of 3 % + 8 mL gas -> 10 mL foam, 60 mg; mean C/(1+r) = 0.6 %.
    advisory = by_rule(facts(dose(STS, 30.0, 2.0, 8.0)), "sclerosant-foam-ratio")
    assert advisory.value == 4.0
    assert (advisory.inputs["foam"], advisory.inputs["mass"]) == ("10 mL", "60 mg")
    assert advisory.inputs["mean strength of the foam"] == "6 mg/mL"
    assert (advisory.urgency, advisory.status) == (Urgency.INFO, Status.PUBLISHED)


@pytest.mark.parametrize(
    ("gas_ml", "words"),
    # CLINICAL.md 4.3: 1 + 4 is practice [V]; 1 + 3 to 1 + 5 is from memory, so never quiet.
    [
        (5.8, "outside the range of 1 + 3 to 1 + 5"),
        (6.0, "inside the range"),
        (10.0, "inside the range"),
        (10.2, "outside the range"),
    ],
)
def test_other_ratio_is_held_against_a_range_from_memory(gas_ml: float, words: str) -> None:
    advisory = by_rule(facts(dose(STS, 30.0, 2.0, gas_ml)), "sclerosant-foam-ratio")
    assert words in advisory.text
    assert (advisory.urgency, advisory.status) == (Urgency.CAUTION, Status.FROM_MEMORY)


def test_planned_ratio_says_what_each_ml_will_make() -> None:
    # By hand: 1 mL of 2 % with 4 mL of gas is 5 mL with 20 mg, 4 mg/mL.
    planned = PlannedSclerosant(
        drug=POLIDOCANOL, strength_mg_per_ml=20.0, foam=True, gas_per_liquid=4.0
    )
    advisory = by_rule(replace(facts(), sclerosant=planned), "sclerosant-foam-ratio")
    assert "makes 5 mL of foam with 20 mg of drug, 4 mg/mL on average" in advisory.text
    unknown = replace(facts(), sclerosant=replace(planned, gas_per_liquid=None))
    missing = by_rule(unknown, "sclerosant-foam-ratio")
    assert missing.missing == ("procedure.sclerosant.gas_per_liquid",)
    assert missing.urgency is Urgency.CAUTION


def test_same_foam_given_twice_and_planned_is_said_once() -> None:
    planned = PlannedSclerosant(drug=STS, strength_mg_per_ml=30.0, foam=True, gas_per_liquid=4.0)
    twice = facts(dose(STS, 30.0, 1.0, 4.0), dose(STS, 30.0, 0.5, 2.0))
    advisory = by_rule(replace(twice, sclerosant=planned), "sclerosant-foam-ratio")
    assert (advisory.inputs["foam"], advisory.inputs["mass"]) == ("7.5 mL", "45 mg")


@given_values(
    st.floats(min_value=0.1, max_value=10.0),
    st.floats(min_value=0.0, max_value=10.0),
    st.floats(min_value=1.0, max_value=30.0),
)
def test_foaming_neither_makes_nor_loses_drug(
    liquid_ml: float, gas_per_liquid: float, mg_per_ml: float
) -> None:
    # Conservation of mass: foam volume times mean strength is liquid volume times its strength.
    foam_mg = foam_volume_ml(liquid_ml, gas_per_liquid) * foam_mean_mg_per_ml(
        mg_per_ml, gas_per_liquid
    )
    assert foam_mg == pytest.approx(liquid_ml * mg_per_ml, rel=1e-12)


@pytest.mark.parametrize(
    ("liquid_ml", "urgency"),
    # CLINICAL.md 4.3, US label [V]: 0.5 to 2 mL in one injection, preferably 1 mL or less.
    [
        (1.0, Urgency.INFO),
        (1.1, Urgency.CAUTION),
        (2.0, Urgency.CAUTION),
        (2.1, Urgency.STOP_AND_THINK),
    ],
)
def test_one_injection_of_sts_has_its_own_limit(liquid_ml: float, urgency: Urgency) -> None:
    advisory = by_rule(facts(dose(STS, 10.0, 0.5), dose(STS, 10.0, liquid_ml)), "sts-injection-max")
    assert (advisory.value, advisory.limit) == (liquid_ml, 2.0)
    assert advisory.urgency is urgency
    assert "larger than the test dose" not in advisory.text


def test_test_dose_of_sts_is_called_to_mind() -> None:
    # CLINICAL.md 4.3, US label [V]: 0.5 mL test dose.
    advisory = by_rule(facts(dose(STS, 10.0, 1.0)), "sts-injection-max")
    assert "test dose of 0.5 mL" in advisory.text
    assert "The first recorded injection was larger than the test dose." in advisory.text
    planned = PlannedSclerosant(drug=STS, strength_mg_per_ml=10.0, foam=False)
    before = by_rule(replace(facts(), sclerosant=planned), "sts-injection-max")
    assert before.value is None
    assert before.urgency is Urgency.INFO


def test_both_labels_of_sts_stay_in_sight(tmp_path: Path) -> None:
    # CLINICAL.md 4.3: US 10 mL [V]; UK 4, 10 and 16 mL [M].
    base = facts(dose(STS, 30.0, 1.0))
    us = by_rule(base, "sts-session-max").text
    assert "4 mL of strong liquid (from memory)" in us
    assert "16 mL of foam (from memory)" in us
    uk = by_rule(base, "sts-session-max", with_choice(tmp_path, "sts-label", "uk-label")).text
    assert "by the US label 10 mL of any strength" in uk


def test_forms_of_sts_by_the_uk_label_use_up_shares_together(tmp_path: Path) -> None:
    # By hand: 3 of 4 mL strong and 8 of 16 mL foam are 125 %.
    protocol = with_choice(tmp_path, "sts-label", "uk-label")
    both = facts(dose(STS, 30.0, 3.0), dose(STS, 30.0, 1.6, 6.4))
    totals = [a for a in sclerosant_totals(both, protocol) if a.rule == "sts-session-max"]
    assert [a.urgency for a in totals] == [Urgency.STOP_AND_THINK] * 2


@pytest.mark.parametrize(
    ("injections_ml", "urgency"),
    # CLINICAL.md 4.3, MIMS [V]: 5 mL in one injection, 15 mL in the session; 12 mL is 80 %.
    [
        ((5.0, 5.0), Urgency.INFO),
        ((5.1,), Urgency.STOP_AND_THINK),
        ((4.0, 4.0, 4.0), Urgency.CAUTION),
        ((5.0, 5.0, 5.0), Urgency.CAUTION),
        ((5.0, 5.0, 5.0, 0.1), Urgency.STOP_AND_THINK),
    ],
)
def test_microfoam_has_a_limit_for_one_injection_and_for_the_session(
    injections_ml: tuple[float, ...], urgency: Urgency
) -> None:
    advisory = by_rule(facts(*map(microfoam, injections_ml)), "polidocanol-microfoam-max")
    assert advisory.urgency is urgency
    assert advisory.limit == 15.0


def test_mass_of_microfoam_is_unknown_so_the_mass_is_not_judged() -> None:
    advisory = by_rule(facts(dose(POLIDOCANOL, 20.0, 1.0), microfoam(5.0)), "polidocanol-daily-max")
    assert (advisory.value, advisory.limit) == (None, None)
    assert advisory.urgency is Urgency.CAUTION
    assert "at least 20 mg: the mass in 5 mL of ready-made microfoam is not known" in advisory.text
    # By hand: 8 mL of 2 % is 160 mg, above the 140 mg of 70 kg whatever the microfoam adds.
    over = by_rule(facts(dose(POLIDOCANOL, 20.0, 8.0), microfoam(5.0)), "polidocanol-daily-max")
    assert (over.value, over.limit) == (160.0, 140.0)
    assert over.urgency is Urgency.STOP_AND_THINK


def test_polidocanol_ceilings_of_mass_and_foam_stand_side_by_side() -> None:
    # CLINICAL.md 13.3: 2 mg/kg and 10 mL of foam; 70 kg -> 140 mg = 7 mL of 2 %.
    foam = facts(dose(POLIDOCANOL, 20.0, 1.0, 4.0))
    mass = by_rule(foam, "polidocanol-daily-max")
    assert "ceiling 140 mg (7.0 mL of 2 %) in the day" in mass.text
    assert (mass.value, mass.limit) == (20.0, 140.0)
    volume = by_rule(foam, "polidocanol-session-max")
    assert (volume.value, volume.limit) == (5.0, 10.0)
    assert "by the US label 10 mL" in volume.text


def test_foam_made_by_hand_and_microfoam_use_up_shares_together() -> None:
    # By hand: 6 of 10 mL and 7 of 15 mL are 107 %.
    both = facts(dose(POLIDOCANOL, 10.0, 1.2, 4.8), microfoam(3.5), microfoam(3.5))
    assert by_rule(both, "polidocanol-session-max").urgency is Urgency.STOP_AND_THINK
    # By hand: 6 of 15 mL of microfoam is 40 %, so 60 % of 10 mL is left for foam made by hand.
    ready = by_rule(facts(microfoam(3.0), microfoam(3.0)), "polidocanol-session-max")
    assert "recorded as given 0 mL, left 6 mL" in ready.text


def test_guideline_on_foam_is_an_extrapolation_from_memory() -> None:
    # CLINICAL.md 4.3: 10 mL [M]; the German guideline does not cover varicocele [V].
    advisory = by_rule(facts(dose(STS, 30.0, 1.0, 4.0), microfoam(3.0)), "foam-guideline-max")
    assert (advisory.value, advisory.limit) == (8.0, 10.0)
    assert advisory.status is Status.FROM_MEMORY
    assert advisory.urgency is Urgency.CAUTION
    assert "varicocele is not covered" in advisory.text
    # The label's own ceiling stops; a guideline that allows more case by case does not.
    over = facts(dose(POLIDOCANOL, 20.0, 2.4, 9.6))
    assert by_rule(over, "polidocanol-session-max").urgency is Urgency.STOP_AND_THINK
    assert by_rule(over, "foam-guideline-max").urgency is Urgency.CAUTION
    liquid = sclerosant_totals(facts(dose(STS, 30.0, 1.0)), PROTOCOL)
    assert "foam-guideline-max" not in {a.rule for a in liquid}


def test_joint_effect_holds_for_any_local_anaesthetic() -> None:
    # CLINICAL.md 4.3, leaflets [V]: within 24 h of another local anaesthetic.
    ropivacaine = OtherAnaestheticGiven(
        drug=LocalAnaesthetic.ROPIVACAINE, strength_mg_per_ml=2.0, volume_ml=5.0, adrenaline=False
    )
    base = facts(dose(POLIDOCANOL, 20.0, 1.0))
    both = replace(base, given=replace(base.given, other_anaesthetics=(ropivacaine,)))
    advisory = by_rule(both, "polidocanol-with-local-anaesthetic")
    assert advisory.inputs == {"ropivacaine given": "10 mg", "polidocanol given": "20 mg"}
    assert "within 24 hours" in advisory.text
    assert "that of ropivacaine" in advisory.text


@pytest.mark.parametrize("drug", [STS, POLIDOCANOL])
def test_dose_is_the_contrast_that_fills_to_the_compressed_ring(drug: SclerosantDrug) -> None:
    # REVIEW.md, Truth and safety, 7.
    advisory = by_rule(facts(dose(drug, 10.0, 1.0)), "sclerosant-dose-by-contrast")
    assert advisory.urgency is Urgency.INFO
    assert advisory.status is Status.COMMON_PRACTICE
    assert "only an upper sanity figure" in advisory.text
    assert "never by the operator's hand" in advisory.text


@given_values(
    st.floats(min_value=10.0, max_value=200.0),
    st.floats(min_value=0.0, max_value=50.0),
)
def test_polidocanol_mass_ceiling_never_falls_with_weight(weight_kg: float, more: float) -> None:
    def limit(kg: float) -> float:
        found = by_rule(facts(dose(POLIDOCANOL, 20.0, 1.0), weight_kg=kg), "polidocanol-daily-max")
        assert found.limit is not None
        return found.limit

    assert limit(weight_kg) <= limit(weight_kg + more)


def test_every_sclerosant_advisory_has_a_source_and_a_status(tmp_path: Path) -> None:
    base = facts(dose(STS, 30.0, 2.0, 8.0), dose(POLIDOCANOL, 10.0, 1.0, 3.0), microfoam(2.0))
    uk = with_choice(tmp_path, "sts-label", "uk-label")
    for advisory in (*sclerosant_totals(base, PROTOCOL), *sclerosant_totals(base, uk)):
        assert advisory.source.strip()
        assert isinstance(advisory.status, Status)


def test_hundred_tenths_of_a_ml_are_ten_and_leave_nothing() -> None:
    # CLINICAL.md 4.3, US label: 10 mL; 100 x 0.1 mL by hand, at the ceiling and not above it.
    advisory = by_rule(facts(*[dose(STS, 30.0, 0.1)] * 100), "sts-session-max")
    assert (advisory.left, advisory.urgency) == (0.0, Urgency.CAUTION)


def test_total_that_rounding_lifts_above_its_ceiling_is_at_it() -> None:
    # 25 x 0.4 mL are 10 mL by hand; the binary sum is a little more.
    doses = [dose(STS, 30.0, 0.4)] * 25
    assert sum(one.liquid_ml for one in doses) > 10.0
    advisory = by_rule(facts(*doses), "sts-session-max")
    assert (advisory.left, advisory.urgency) == (0.0, Urgency.CAUTION)


def test_cautions_that_nobody_asked_about_are_named_by_their_keys() -> None:
    # The keys as README and examples/every-key.toml give them.
    advisory = by_rule(facts(dose(STS, 30.0, 1.0)), "sclerosant-cautions")
    assert "conditions.right_to_left_shunt" in advisory.missing
    assert "allergies.sclerosant" in advisory.text
