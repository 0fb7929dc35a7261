"""Laws that hold for everything that is said of any case."""

import datetime as dt
import json
import re
from dataclasses import fields, is_dataclass, replace
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coilwright.advice import Status, Urgency
from coilwright.assessment import Chapter, Facts, Sex, assess
from coilwright.assessment.assess import assess_by_chapter
from coilwright.protocol import load_protocol
from coilwright.record import load_case
from coilwright.veins import Side

PROTOCOL = load_protocol()
ALL = tuple(Chapter)
TODAY = dt.date(2026, 11, 25)


@pytest.fixture(scope="module")
def demo_facts(tmp_path_factory: pytest.TempPathFactory) -> Facts:
    folder = tmp_path_factory.mktemp("case")
    text = (resources.files("coilwright.demo") / "case.toml").read_text(encoding="utf-8")
    (folder / "case.toml").write_text(text, encoding="utf-8")
    for name in ("run.dcm", "kit.toml"):
        (folder / name).touch()
    return load_case(folder / "case.toml", TODAY).facts(TODAY)


def swapped(value: Any) -> Any:
    """The same facts of a patient seen in a mirror."""
    if isinstance(value, Side):
        return Side.RIGHT if value is Side.LEFT else Side.LEFT
    if isinstance(value, tuple):
        return tuple(swapped(item) for item in value)
    if not is_dataclass(value) or isinstance(value, type):
        return value
    changed = {f.name: swapped(getattr(value, f.name)) for f in fields(value)}
    if {"left", "right"} <= changed.keys():
        changed["left"], changed["right"] = changed["right"], changed["left"]
    return replace(value, **changed)


def said(facts: Facts) -> set[tuple[str, Urgency, float | None, float | None]]:
    return {(a.rule, a.urgency, a.value, a.limit) for a in assess(facts, PROTOCOL, ALL)}


def test_complete_left_case_raises_no_stop_and_misses_nothing(demo_facts: Facts) -> None:
    advisories = assess(demo_facts, PROTOCOL, ALL)
    assert all(a.urgency is not Urgency.STOP_AND_THINK for a in advisories)
    # The distances for a skin dose are not in every room's reach.
    assert [a.rule for a in advisories if a.missing] == ["peak-skin-dose-estimate"]


def test_mirror_image_changes_only_the_right_sided_red_flag(demo_facts: Facts) -> None:
    here, there = said(demo_facts), said(swapped(demo_facts))
    changed = {rule for rule, *_ in here ^ there}
    assert changed == {"red-flags-none", "red-flag-isolated-right"}


def test_mirror_image_twice_is_the_same(demo_facts: Facts) -> None:
    assert swapped(swapped(demo_facts)) == demo_facts


def test_loudest_advisories_come_first(demo_facts: Facts) -> None:
    order = [Urgency.STOP_AND_THINK, Urgency.CAUTION, Urgency.INFO]
    places = [order.index(a.urgency) for a in assess(swapped(demo_facts), PROTOCOL, ALL)]
    assert places == sorted(places)
    assert places[0] == 0


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.sets(st.sampled_from([f.name for f in fields(Facts) if f.name not in {"on", "patient"}])))
def test_every_advisory_has_source_and_status_whatever_is_missing(
    demo_facts: Facts, taken_away: set[str]
) -> None:
    empty = Facts(on=demo_facts.on, patient=demo_facts.patient)
    partial = replace(demo_facts, **{name: getattr(empty, name) for name in taken_away})
    for advisory, chapter in assess_by_chapter(partial, PROTOCOL):
        assert advisory.source.strip()
        assert isinstance(advisory.status, Status)
        assert advisory.text.strip()
        for key in advisory.missing:
            told = (advisory.text, *advisory.inputs.values())
            assert any(key in words or SAID.search(words) for words in told)
        if advisory.missing and advisory.rule not in QUIET_WHEN_MISSING:
            assert advisory.urgency is not Urgency.INFO or chapter in QUIET_CHAPTERS


# REVIEW.md, In the room: missing referral or semen data never blocks sizing, so they speak quietly.
SAID = re.compile("[Nn]ot recorded|annot be judged")
QUIET_CHAPTERS = (Chapter.FINDINGS, Chapter.INDICATION)
# Bloods are not routine at low risk once anticoagulants are ruled out (CLINICAL.md 5.4); skin dose
# and the frames over the testes matter where the air kerma is high, or any frame reached them.
QUIET_WHEN_MISSING = {
    "inr-low-risk",
    "platelets-low-risk",
    "peak-skin-dose-estimate",
    "testis-collimation",
}


def test_no_limit_from_memory_looks_satisfied(demo_facts: Facts) -> None:
    # REVIEW.md, Truth and safety, 12.
    from_memory = [
        a
        for a in assess(demo_facts, PROTOCOL, ALL)
        if a.status is Status.FROM_MEMORY and a.signed_off_by is None
    ]
    assert {a.rule for a in from_memory} == JUDGED | SHOWN
    for advisory in from_memory:
        assert "from memory" in advisory.text or "from memory" in str(advisory.inputs)
        if advisory.rule in JUDGED:
            assert advisory.urgency is not Urgency.INFO
        else:
            assert advisory.limit is None


# Of the demo case: what is held against a limit from memory, and what only shows a figure of it.
JUDGED = {
    "ultrasound-esur-diameter",
    "ultrasound-criteria-agreement",
    "indication-aua-asrm-2020",
    "radiation-kap",
    "radiation-fluoroscopy-time",
}
SHOWN = {"effective-dose", "consent-migration-and-phlebitis"}


def test_no_advisory_text_names_the_patient(demo_facts: Facts) -> None:
    spoken = json.dumps([[a.text, a.inputs] for a in assess(demo_facts, PROTOCOL, ALL)])
    assert demo_facts.patient.name not in spoken
    assert demo_facts.patient.id not in spoken


def test_assessing_reads_no_clock_and_no_file(demo_facts: Facts) -> None:
    assert assess(demo_facts, PROTOCOL, ALL) == assess(demo_facts, PROTOCOL, ALL)
    assert not any(isinstance(getattr(demo_facts, f.name), Path) for f in fields(Facts))


OF_MEN = ("dubin-amelar", "ultrasound-", "sarteschi", "chiou", "testis-", "semen", "total-motile")


def test_rules_on_the_findings_of_men_say_so_of_a_woman_and_nothing_more(
    demo_facts: Facts,
) -> None:
    # examples/every-key.toml: sex is as recorded; the ovarian vein has no rules here.
    woman = replace(demo_facts, patient=replace(demo_facts.patient, sex=Sex.FEMALE))
    advisories = assess(woman, PROTOCOL, ALL)
    assert not [a.rule for a in advisories if a.rule.startswith(OF_MEN)]
    (advisory,) = [a for a in advisories if a.rule == "findings-of-men"]
    assert advisory.urgency is Urgency.CAUTION
    assert advisory.text.endswith(
        "not judged: examination, ultrasound, testes, semen; check patient.sex."
    )
    assert "findings-of-men" not in {a.rule for a in assess(demo_facts, PROTOCOL, ALL)}


def test_woman_without_findings_is_told_quietly(demo_facts: Facts) -> None:
    person = replace(demo_facts.patient, sex=Sex.FEMALE)
    bare = replace(demo_facts, patient=person, examination=(), ultrasound=(), testes=(), semen=())
    (advisory,) = [a for a in assess(bare, PROTOCOL, ALL) if a.rule == "findings-of-men"]
    assert advisory.urgency is Urgency.INFO
