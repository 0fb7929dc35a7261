"""Sclerosant ceilings by drug and label."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment import (
    Allergies,
    Conditions,
    Facts,
    Given,
    LidocaineGiven,
    Patient,
    PlannedSclerosant,
    SclerosantDrug,
    SclerosantGiven,
)
from coilwright.assessment.sclerosant import sclerosant_totals
from coilwright.protocol import Protocol, load_protocol

PROTOCOL = load_protocol()
STS, POLIDOCANOL = SclerosantDrug.STS, SclerosantDrug.POLIDOCANOL
WHO = 'why = "w"\nchanged_by = "Dr Invented"\nchanged_on = 2026-02-03\n'


def dose(
    drug: SclerosantDrug, mg_per_ml: float, liquid: float, gas: float = 0.0
) -> SclerosantGiven:
    return SclerosantGiven(drug=drug, strength_mg_per_ml=mg_per_ml, liquid_ml=liquid, gas_ml=gas)


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
