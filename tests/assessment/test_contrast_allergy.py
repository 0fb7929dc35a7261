"""The pathway after an earlier reaction to contrast; all of it from memory."""

import datetime as dt
from pathlib import Path

import pytest

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment import Allergies, Facts, Patient, ReactionOnset, ReactionSeverity
from coilwright.assessment.contrast_allergy import contrast_allergy_pathway
from coilwright.protocol import Protocol, load_protocol

PROTOCOL = load_protocol()


def facts(allergies: Allergies) -> Facts:
    return Facts(on=dt.date(2026, 3, 12), patient=Patient(id="1", name="x"), allergies=allergies)


def reaction(
    severity: ReactionSeverity | None,
    onset: ReactionOnset | None = ReactionOnset.ACUTE,
    protocol: Protocol = PROTOCOL,
) -> Advisory:
    allergies = Allergies(
        contrast=True,
        contrast_agent="Zzyx 300",
        contrast_reaction=severity,
        contrast_reaction_onset=onset,
    )
    (advisory,) = contrast_allergy_pathway(facts(allergies), protocol)
    return advisory


@pytest.mark.parametrize("answer", [False, None])
def test_pathway_opens_only_where_a_contrast_allergy_is_recorded(answer: bool | None) -> None:
    assert contrast_allergy_pathway(facts(Allergies(contrast=answer)), PROTOCOL) == ()


@pytest.mark.parametrize(
    ("severity", "urgency", "words"),
    [
        (ReactionSeverity.MILD, Urgency.CAUTION, "another agent"),
        (ReactionSeverity.MODERATE, Urgency.STOP_AND_THINK, "an allergist's advice"),
        (ReactionSeverity.SEVERE, Urgency.STOP_AND_THINK, "venography with carbon dioxide"),
        (None, Urgency.STOP_AND_THINK, "Ask how severe it was"),
    ],
)
def test_pathway_follows_the_severity(
    severity: ReactionSeverity | None, urgency: Urgency, words: str
) -> None:
    advisory = reaction(severity)
    assert advisory.rule == "contrast-allergy-pathway"
    assert (advisory.urgency, advisory.status) == (urgency, Status.FROM_MEMORY)
    assert words in advisory.text
    assert "not signed off by the site" in advisory.text


@pytest.mark.parametrize(
    ("onset", "words"),
    [
        (ReactionOnset.ACUTE, "watch the patient for longer"),
        (ReactionOnset.LATE, "mostly of the skin"),
    ],
)
def test_pathway_follows_the_onset(onset: ReactionOnset, words: str) -> None:
    assert words in reaction(ReactionSeverity.MILD, onset).text


def test_what_nobody_recorded_of_the_reaction_is_named() -> None:
    (advisory,) = contrast_allergy_pathway(facts(Allergies(contrast=True)), PROTOCOL)
    assert advisory.missing == (
        "allergies.contrast_agent",
        "allergies.contrast_reaction",
        "allergies.contrast_reaction_onset",
    )


def test_typed_agent_is_never_printed() -> None:
    advisory = reaction(ReactionSeverity.SEVERE)
    assert "zzyx" not in f"{advisory.text} {advisory.inputs}".casefold()
    assert advisory.inputs["agent"] == "recorded"


def test_seafood_and_iodine_antiseptic_are_said_to_be_no_contrast_allergy() -> None:
    text = reaction(ReactionSeverity.MILD).text
    assert "seafood or to an iodine antiseptic is no contrast allergy" in text


def test_steroids_are_told_only_where_the_site_gives_them(tmp_path: Path) -> None:
    file = tmp_path / "site.toml"
    file.write_text(
        '[choices.contrast-premedication]\nvalue = "change-agent-and-steroids"\nwhy = "w"\n'
        'changed_by = "Dr Invented"\nchanged_on = 2026-02-03\n',
        encoding="utf-8",
    )
    without = reaction(ReactionSeverity.MODERATE)
    steroids = reaction(ReactionSeverity.MODERATE, protocol=load_protocol(file))
    assert "changes the agent only" in without.text
    assert "prednisolone" not in without.text
    # ACR manual on contrast media, by mouth (from memory): 50 mg at 13, 7 and 1 h before.
    assert "prednisolone 50 mg by mouth 13, 7 and 1 h before (for adults" in steroids.text
    assert "bodies disagree" in steroids.text
