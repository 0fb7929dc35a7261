"""Antithrombotic drugs: read from what people type, not withheld at low risk, held at high risk."""

import datetime as dt
from pathlib import Path

import pytest

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment import Facts, Medication, Patient
from coilwright.assessment.antithrombotic_drugs import Antithrombotic, drugs_named
from coilwright.assessment.antithrombotics import antithrombotics
from coilwright.protocol import Protocol, load_protocol

PROTOCOL = load_protocol()
HIGH = (
    '[choices.bleeding-risk-class]\nvalue = "high"\nwhy = "w"\nchanged_by = "Dr Invented"\n'
    "changed_on = 2026-02-03\n"
)
# CLINICAL.md 5.4: the drugs that the consensus does not withhold at low risk [V2].
LISTED = [
    "heparin",
    "enoxaparin",
    "dalteparin",
    "tinzaparin",
    "low molecular weight heparin",
    "fondaparinux",
    "argatroban",
    "warfarin",
    "apixaban",
    "rivaroxaban",
    "dabigatran",
    "edoxaban",
    "clopidogrel",
    "ticagrelor",
    "prasugrel",
]


@pytest.fixture(scope="module")
def high(tmp_path_factory: pytest.TempPathFactory) -> Protocol:
    file: Path = tmp_path_factory.mktemp("site") / "site.toml"
    file.write_text(HIGH, encoding="utf-8")
    return load_protocol(file)


def facts(
    anticoagulant: str | None = "none",
    antiplatelet: str | None = "none",
    others: tuple[str, ...] = (),
) -> Facts:
    return Facts(
        on=dt.date(2026, 3, 12),
        patient=Patient(id="1", name="x"),
        medication=Medication(
            anticoagulant=anticoagulant, antiplatelet=antiplatelet, others=others
        ),
    )


def only(advisories: tuple[Advisory, ...]) -> Advisory:
    (advisory,) = advisories
    return advisory


@pytest.mark.parametrize(
    ("typed", "drugs"),
    [
        ("Apixaban 5 mg twice daily", [Antithrombotic.APIXABAN]),
        ("aspirin 75 mg, clopidogrel", [Antithrombotic.ASPIRIN, Antithrombotic.CLOPIDOGREL]),
        ("aspirin and ticagrelor", [Antithrombotic.ASPIRIN, Antithrombotic.TICAGRELOR]),
        ("warfarin + acetylsalicylic acid", [Antithrombotic.WARFARIN, Antithrombotic.ASPIRIN]),
        ("Low-molecular-weight heparin", [Antithrombotic.LMWH]),
        ("heparin, LMWH", [Antithrombotic.HEPARIN, Antithrombotic.LMWH]),
        ("ENOXAPARIN 40mg; warfarin", [Antithrombotic.LMWH, Antithrombotic.WARFARIN]),
        ("clopidogrel aspirin", [Antithrombotic.CLOPIDOGREL, Antithrombotic.ASPIRIN]),
        ("none", []),
        (" No. ", []),
    ],
)
def test_drugs_are_read_from_what_people_type(typed: str, drugs: list[Antithrombotic]) -> None:
    named = drugs_named(typed)
    assert list(named.drugs) == drugs
    assert not named.unread


@pytest.mark.parametrize(
    ("typed", "drugs"),
    [
        ("something from abroad", []),
        ("warfarin stopped in May", []),
        ("no aspirin", []),
        ("yes", []),
        ("warfarine", []),
        ("", []),
        ("aspirin, something else", [Antithrombotic.ASPIRIN]),
    ],
)
def test_words_that_are_not_read_are_never_taken_for_nothing(
    typed: str, drugs: list[Antithrombotic]
) -> None:
    named = drugs_named(typed)
    assert list(named.drugs) == drugs
    assert named.unread


@pytest.mark.parametrize("name", LISTED)
def test_listed_drug_is_not_withheld_at_low_risk_by_analogy(name: str) -> None:
    advisory = only(antithrombotics(facts(anticoagulant=name), PROTOCOL))
    assert advisory.rule == "antithrombotics-low-risk"
    assert "not withheld before a low-risk procedure" in advisory.text
    assert "By analogy" in advisory.text
    assert (advisory.status, advisory.urgency) == (Status.RESTATED, Urgency.INFO)


def test_aspirin_is_not_in_the_list_that_was_read_and_says_so() -> None:
    advisory = only(antithrombotics(facts(antiplatelet="aspirin 75 mg"), PROTOCOL))
    assert advisory.status is Status.FROM_MEMORY
    assert advisory.urgency is Urgency.CAUTION
    assert "from memory" in advisory.text


@pytest.mark.parametrize(
    ("name", "words", "longest", "unit", "status"),
    [
        # CLINICAL.md 5.4, high risk holds [V2]
        ("heparin", "held for 4 to 6 h", 6.0, "h", Status.RESTATED),
        ("dalteparin", "12 h after a prophylactic dose, or 24 h", 24.0, "h", Status.RESTATED),
        ("fondaparinux", "2 to 3 days with a creatinine clearance", 5.0, "d", Status.RESTATED),
        # CLINICAL.md 5.4, high risk holds [M]
        ("warfarin", "held for 5 days and until the INR", 5.0, "d", Status.FROM_MEMORY),
        ("apixaban", "held for 4 doses", 4.0, "dose", Status.FROM_MEMORY),
        ("dabigatran", "held for 4 doses", 4.0, "dose", Status.FROM_MEMORY),
        ("rivaroxaban", "held for 2 doses", 2.0, "dose", Status.FROM_MEMORY),
        ("clopidogrel", "held for 5 days", 5.0, "d", Status.FROM_MEMORY),
        ("ticagrelor", "held for 5 days", 5.0, "d", Status.FROM_MEMORY),
        ("prasugrel", "held for 7 days", 7.0, "d", Status.FROM_MEMORY),
        # not in CLINICAL.md: from memory of the same consensus
        ("edoxaban", "held for 2 doses", 2.0, "dose", Status.FROM_MEMORY),
        ("argatroban", "held for 2 to 4 h", 4.0, "h", Status.FROM_MEMORY),
        ("aspirin", "held for 3 to 5 days", 5.0, "d", Status.FROM_MEMORY),
    ],
)
def test_high_risk_holds_each_drug_for_its_time(
    high: Protocol, name: str, words: str, longest: float, unit: str, status: Status
) -> None:
    advisory = only(antithrombotics(facts(anticoagulant=name), high))
    assert advisory.rule == "antithrombotics-high-risk"
    assert words in advisory.text
    assert (advisory.limit, advisory.unit, advisory.status) == (longest, unit, status)
    assert advisory.urgency is Urgency.STOP_AND_THINK
    assert "the site counts it as high risk" in advisory.text


def test_fondaparinux_goes_by_creatinine_clearance_which_is_not_the_egfr(high: Protocol) -> None:
    # CLINICAL.md 5.4 [V2]: 2-3 d with CrCl above 50, 3-5 d lower.
    text = only(antithrombotics(facts(anticoagulant="fondaparinux"), high)).text
    assert "above 50 mL/min, or 3 to 5 days with one of 50 mL/min or less" in text
    assert "the creatinine clearance is not the eGFR" in text


def test_drug_without_a_rule_is_asked_for_and_never_printed() -> None:
    advisory = only(antithrombotics(facts(anticoagulant="Zzyx tablets"), PROTOCOL))
    assert advisory.urgency is Urgency.CAUTION
    assert "no rule here" in advisory.text
    assert "medication.anticoagulant" in advisory.text
    assert "zzyx" not in f"{advisory.text} {advisory.inputs}".casefold()


def test_each_drug_and_each_unread_part_speaks_once() -> None:
    case = facts("apixaban, unknown thing", "aspirin and apixaban", ("warfarin 3 mg", "vitamin"))
    texts = [a.text for a in antithrombotics(case, PROTOCOL)]
    assert [text.split(":")[0] for text in texts[:3]] == [
        "Takes apixaban",
        "Takes aspirin",
        "Takes warfarin",
    ]
    assert len(texts) == 4
    assert "medication.anticoagulant" in texts[3]
    assert "medication.antiplatelet" not in texts[3]


def test_nobody_asked_is_not_none() -> None:
    unasked = only(antithrombotics(facts(None, None), PROTOCOL))
    assert unasked.missing == ("medication.anticoagulant", "medication.antiplatelet")
    assert unasked.urgency is Urgency.CAUTION
    half = only(antithrombotics(facts("none", None), PROTOCOL))
    assert half.missing == ("medication.antiplatelet",)
    neither = only(antithrombotics(facts("none", "no"), PROTOCOL))
    assert (neither.urgency, neither.missing) == (Urgency.INFO, ())


def test_every_drug_has_a_hold_with_source_and_status(high: Protocol) -> None:
    for drug in Antithrombotic:
        advisory = only(antithrombotics(facts(anticoagulant=drug.value), high))
        assert advisory.source.strip()
        assert drug.value in advisory.text
