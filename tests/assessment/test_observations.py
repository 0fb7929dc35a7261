"""The latest observations against the site's limits for adults (common practice, no source)."""

import datetime as dt

import pytest

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment import Facts, Given, Observation, Patient, Sedative, SedativeGiven
from coilwright.assessment.observations import observation_limits
from coilwright.protocol import load_protocol

PROTOCOL = load_protocol()
GOOD = Observation(
    at="10:00:00", systolic_mmhg=125.0, heart_rate_per_min=72.0, oxygen_saturation_percent=98.0
)


def facts(
    *observations: Observation,
    born: dt.date | None = dt.date(1990, 1, 1),
    sedation: tuple[SedativeGiven, ...] = (),
) -> Facts:
    return Facts(
        on=dt.date(2026, 3, 12),
        patient=Patient(id="1", name="x", birth_date=born),
        given=Given(observations=observations, sedation=sedation),
    )


def by_rule(advisories: tuple[Advisory, ...], rule: str) -> Advisory:
    (advisory,) = [a for a in advisories if a.rule == rule]
    return advisory


def test_nothing_is_said_where_nothing_is_observed_and_nothing_given() -> None:
    assert observation_limits(facts(), PROTOCOL) == ()


def test_sedative_without_any_observation_asks_for_them() -> None:
    dose = SedativeGiven(drug=Sedative.MIDAZOLAM, mass_mg=1.0)
    (advisory,) = observation_limits(facts(sedation=(dose,)), PROTOCOL)
    assert advisory.rule == "observations-under-sedation"
    assert (advisory.missing, advisory.urgency) == (("given.observations",), Urgency.CAUTION)


def test_good_observations_are_within_the_sites_limits() -> None:
    advisories = observation_limits(facts(GOOD), PROTOCOL)
    assert [a.rule for a in advisories] == [
        "observation-saturation",
        "observation-systolic",
        "observation-heart-rate",
    ]
    assert {a.urgency for a in advisories} == {Urgency.INFO}
    assert {a.status for a in advisories} == {Status.COMMON_PRACTICE}


@pytest.mark.parametrize(
    ("percent", "urgency"),
    # Common practice: pointed out below 94 %, stopped for below 90 %.
    [
        (94.0, Urgency.INFO),
        (93.9, Urgency.CAUTION),
        (90.0, Urgency.CAUTION),
        (89.9, Urgency.STOP_AND_THINK),
    ],
)
def test_saturation_speaks_in_its_band(percent: float, urgency: Urgency) -> None:
    case = facts(Observation(oxygen_saturation_percent=percent))
    advisory = by_rule(observation_limits(case, PROTOCOL), "observation-saturation")
    assert (advisory.urgency, advisory.value) == (urgency, percent)


@pytest.mark.parametrize(
    ("mmhg", "urgency"),
    # Common practice: below 100 and above 180 mmHg pointed out, below 90 stopped for.
    [
        (100.0, Urgency.INFO),
        (99.0, Urgency.CAUTION),
        (90.0, Urgency.CAUTION),
        (89.0, Urgency.STOP_AND_THINK),
        (180.0, Urgency.INFO),
        (181.0, Urgency.CAUTION),
    ],
)
def test_systolic_pressure_speaks_in_its_band(mmhg: float, urgency: Urgency) -> None:
    case = facts(Observation(systolic_mmhg=mmhg))
    advisory = by_rule(observation_limits(case, PROTOCOL), "observation-systolic")
    assert advisory.urgency is urgency


@pytest.mark.parametrize(
    ("per_min", "urgency", "limit"),
    # Common practice: 50 to 110 in peace, below 40 or above 130 stopped for.
    [
        (39.0, Urgency.STOP_AND_THINK, 40.0),
        (40.0, Urgency.CAUTION, 50.0),
        (50.0, Urgency.INFO, 50.0),
        (110.0, Urgency.INFO, 50.0),
        (111.0, Urgency.CAUTION, 110.0),
        (131.0, Urgency.STOP_AND_THINK, 130.0),
    ],
)
def test_heart_rate_speaks_in_its_band(per_min: float, urgency: Urgency, limit: float) -> None:
    case = facts(Observation(heart_rate_per_min=per_min))
    advisory = by_rule(observation_limits(case, PROTOCOL), "observation-heart-rate")
    assert (advisory.urgency, advisory.limit) == (urgency, limit)


def test_latest_by_time_decides_whatever_the_order_of_entry() -> None:
    bad = Observation(at="10:15:00", oxygen_saturation_percent=85.0)
    for order in ((GOOD, bad), (bad, GOOD)):
        advisory = by_rule(observation_limits(facts(*order), PROTOCOL), "observation-saturation")
        assert (advisory.value, advisory.inputs["at"]) == (85.0, "10:15:00")


def test_without_times_the_last_recorded_decides() -> None:
    first = Observation(at="11:00:00", oxygen_saturation_percent=99.0)
    last = Observation(oxygen_saturation_percent=88.0)
    advisory = by_rule(observation_limits(facts(first, last), PROTOCOL), "observation-saturation")
    assert advisory.value == 88.0


def test_older_reading_says_that_a_later_observation_does_not_give_it() -> None:
    later = Observation(at="10:15:00", oxygen_saturation_percent=97.0)
    advisories = observation_limits(facts(GOOD, later), PROTOCOL)
    assert (
        "A later observation does not give it." in by_rule(advisories, "observation-systolic").text
    )
    assert "later" not in by_rule(advisories, "observation-saturation").text


def test_observation_that_was_never_read_is_named() -> None:
    advisories = observation_limits(facts(Observation(systolic_mmhg=120.0)), PROTOCOL)
    missing = {a.rule: a.missing for a in advisories if a.missing}
    assert missing == {
        "observation-saturation": ("given.observations.oxygen_saturation",),
        "observation-heart-rate": ("given.observations.heart_rate",),
    }


def test_childs_pressure_and_heart_rate_are_not_judged_by_adults_limits() -> None:
    advisories = observation_limits(facts(GOOD, born=dt.date(2012, 1, 1)), PROTOCOL)
    for rule in ("observation-systolic", "observation-heart-rate"):
        advisory = by_rule(advisories, rule)
        assert (advisory.limit, advisory.urgency) == (None, Urgency.CAUTION)
        assert "the limits here are for adults" in advisory.text
    assert by_rule(advisories, "observation-saturation").urgency is Urgency.INFO


def test_unknown_age_is_named_and_never_quietens_a_bad_reading() -> None:
    quiet = by_rule(observation_limits(facts(GOOD, born=None), PROTOCOL), "observation-systolic")
    assert (quiet.urgency, quiet.missing) == (Urgency.CAUTION, ("patient.birth_date",))
    low = facts(Observation(systolic_mmhg=80.0), born=None)
    loud = by_rule(observation_limits(low, PROTOCOL), "observation-systolic")
    assert loud.urgency is Urgency.STOP_AND_THINK


@pytest.mark.parametrize(
    ("first", "second", "latest_mmhg"),
    # The clock: of 10:05 and 09:50 the former is later, however they were recorded; 23:50 and 00:10
    # lie twenty minutes apart over midnight, and the order of recording is all that tells.
    [
        ("10:05:00", "09:50:00", 120.0),
        ("09:50:00", "10:05:00", 60.0),
        ("23:50:00", "00:10:00", 60.0),
        ("2026-03-12T23:50:00", "2026-03-13T00:10:00", 60.0),
        ("2026-03-12T10:00:00+00:00", "2026-03-12T10:30:00+01:00", 120.0),
        ("in the morning", "09:50:00", 60.0),
    ],
)
def test_latest_reading_is_the_latest_by_the_clock(
    first: str, second: str, latest_mmhg: float
) -> None:
    readings = (
        Observation(at=first, systolic_mmhg=120.0),
        Observation(at=second, systolic_mmhg=60.0),
    )
    advisory = by_rule(observation_limits(facts(*readings), PROTOCOL), "observation-systolic")
    assert advisory.value == latest_mmhg
