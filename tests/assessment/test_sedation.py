"""Totals of sedatives against the site's ceilings for adults; nothing is held for children.

Origins: midazolam 7.5 mg, from 60 years on 3.5 mg (British National Formulary, from memory);
fentanyl 200 ug (common practice, no source), from 60 on half of it (from memory).
"""

import datetime as dt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment import Facts, Given, Patient, Sedative, SedativeGiven
from coilwright.assessment.sedation import sedation_totals
from coilwright.protocol import Protocol, load_protocol

PROTOCOL = load_protocol()
ON = dt.date(2026, 3, 12)
ADULT, SIXTY, CHILD = dt.date(1990, 1, 1), dt.date(1966, 3, 12), dt.date(2010, 1, 1)
LOUDNESS = [Urgency.INFO, Urgency.CAUTION, Urgency.STOP_AND_THINK]


def facts(
    *doses: tuple[Sedative, float], born: dt.date | None = ADULT, planned: bool | None = None
) -> Facts:
    sedation = tuple(SedativeGiven(drug=drug, mass_mg=mg) for drug, mg in doses)
    return Facts(
        on=ON,
        patient=Patient(id="1", name="x", birth_date=born),
        sedation_planned=planned,
        given=Given(sedation=sedation),
    )


def only(advisories: tuple[Advisory, ...]) -> Advisory:
    (advisory,) = advisories
    return advisory


@pytest.fixture(scope="module")
def signed(tmp_path_factory: pytest.TempPathFactory) -> Protocol:
    file: Path = tmp_path_factory.mktemp("site") / "site.toml"
    sign = 'signed_off_by = "Dr Invented"\nsigned_off_on = 2026-02-03\n'
    ids = ("midazolam-adult", "midazolam-older", "fentanyl-older", "older-age")
    file.write_text("".join(f"[limits.sedation-{id}]\n{sign}" for id in ids), encoding="utf-8")
    return load_protocol(file)


@pytest.mark.parametrize("planned", [None, False])
def test_nothing_is_said_where_no_sedation_is_planned_or_given(planned: bool | None) -> None:
    assert sedation_totals(facts(planned=planned), PROTOCOL) == ()


def test_planned_sedation_shows_both_ceilings_before_the_first_dose() -> None:
    advisories = sedation_totals(facts(planned=True), PROTOCOL)
    assert {(a.rule, a.value, a.limit, a.unit) for a in advisories} == {
        ("sedation-midazolam-max", 0.0, 7.5, "mg"),
        ("sedation-fentanyl-max", 0.0, 200.0, "ug"),
    }


@pytest.mark.parametrize(
    ("born", "given_mg", "limit_mg", "urgency"),
    # 80 % of a ceiling is the site's pointing-out share: 6.0 of 7.5 mg, 2.8 of 3.5 mg.
    [
        (ADULT, 5.9, 7.5, Urgency.INFO),
        (ADULT, 6.0, 7.5, Urgency.CAUTION),
        (ADULT, 7.5, 7.5, Urgency.CAUTION),
        (ADULT, 7.6, 7.5, Urgency.STOP_AND_THINK),
        (dt.date(1966, 3, 13), 3.6, 7.5, Urgency.INFO),
        (SIXTY, 2.7, 3.5, Urgency.INFO),
        (SIXTY, 3.6, 3.5, Urgency.STOP_AND_THINK),
    ],
)
def test_midazolam_is_held_against_the_ceiling_of_the_age(
    signed: Protocol, born: dt.date, given_mg: float, limit_mg: float, urgency: Urgency
) -> None:
    advisory = only(sedation_totals(facts((Sedative.MIDAZOLAM, given_mg), born=born), signed))
    assert (advisory.limit, advisory.urgency) == (limit_mg, urgency)


@pytest.mark.parametrize(
    ("born", "given_mg", "value_ug", "limit_ug", "urgency"),
    # By hand: 0.1 mg is 100 ug.
    [
        (ADULT, 0.1, 100.0, 200.0, Urgency.INFO),
        (ADULT, 0.201, 201.0, 200.0, Urgency.STOP_AND_THINK),
        (SIXTY, 0.101, 101.0, 100.0, Urgency.STOP_AND_THINK),
    ],
)
def test_fentanyl_is_told_in_micrograms(
    born: dt.date, given_mg: float, value_ug: float, limit_ug: float, urgency: Urgency
) -> None:
    advisory = only(sedation_totals(facts((Sedative.FENTANYL, given_mg), born=born), PROTOCOL))
    assert advisory.value == pytest.approx(value_ug, rel=1e-12)
    assert (advisory.limit, advisory.unit, advisory.urgency) == (limit_ug, "ug", urgency)


def test_ceiling_from_memory_is_never_quiet_until_signed(signed: Protocol) -> None:
    case = facts((Sedative.MIDAZOLAM, 1.0))
    unsigned = only(sedation_totals(case, PROTOCOL))
    assert (unsigned.status, unsigned.urgency) == (Status.FROM_MEMORY, Urgency.CAUTION)
    assert only(sedation_totals(case, signed)).urgency is Urgency.INFO


def test_both_drugs_together_are_said_to_add(signed: Protocol) -> None:
    case = facts((Sedative.MIDAZOLAM, 1.0), (Sedative.MIDAZOLAM, 1.0), (Sedative.FENTANYL, 0.05))
    advisories = sedation_totals(case, signed)
    assert {a.rule: a.value for a in advisories} == pytest.approx(
        {"sedation-midazolam-max": 2.0, "sedation-fentanyl-max": 50.0}
    )
    assert all("depressant effects on breathing and pressure add" in a.text for a in advisories)
    assert {a.urgency for a in advisories} == {Urgency.CAUTION}


def test_child_has_no_ceiling_here() -> None:
    advisory = only(sedation_totals(facts((Sedative.MIDAZOLAM, 1.0), born=CHILD), PROTOCOL))
    assert advisory.limit is None
    assert advisory.urgency is Urgency.STOP_AND_THINK
    assert "no ceiling here below 18 years" in advisory.text


def test_unknown_age_is_named_and_no_ceiling_assumed() -> None:
    advisory = only(sedation_totals(facts((Sedative.MIDAZOLAM, 1.0), born=None), PROTOCOL))
    assert (advisory.limit, advisory.missing) == (None, ("patient.birth_date",))
    assert advisory.urgency is Urgency.CAUTION


@given(
    st.floats(min_value=0.0, max_value=20.0),
    st.floats(min_value=0.0, max_value=20.0),
    st.sampled_from([ADULT, SIXTY, CHILD, None]),
)
def test_more_sedative_is_never_quieter(
    given_mg: float, more_mg: float, born: dt.date | None
) -> None:
    less = only(sedation_totals(facts((Sedative.MIDAZOLAM, given_mg), born=born), PROTOCOL))
    doses = ((Sedative.MIDAZOLAM, given_mg), (Sedative.MIDAZOLAM, more_mg))
    more = only(sedation_totals(facts(*doses, born=born), PROTOCOL))
    assert LOUDNESS.index(more.urgency) >= LOUDNESS.index(less.urgency)
    assert more.source.strip()
