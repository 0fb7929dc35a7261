"""The fold: entries of one case in, the case out, corrections and withdrawals applied."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from coilwright.assessment import (
    Access,
    Allergies,
    Bloods,
    Conditions,
    Fertility,
    Given,
    Medication,
    Referral,
    SideCheck,
)
from coilwright.record.case import Aftercare, Case, CaseRun, Hospital, Outcome, Procedure
from coilwright.record.case_kinds import CASE_KINDS, Counting
from coilwright.record.entry import Entry
from coilwright.record.entry_payload import UnreadableEntry, payload_of
from coilwright.record.settled import Line
from coilwright.record.settling import settle

# The last two are kept where others have always found them.
__all__ = ["UnreadableEntry", "fold_case", "payload_of"]


def fold_case(entries: Sequence[Entry], folder: Path = Path()) -> Case:
    """The case that the entries of one stream add up to; files are looked for in ``folder``.

    Raises
    ------
    UnreadableEntry
        There is no entry, no patient, or an entry that cannot be read as one of a case's.
    """
    lines = settle(entries).counting
    once, many = latest_facts(lines), facts_by_kind(lines)
    if "patient_registered" not in once:
        raise UnreadableEntry("a case needs its patient first")
    return _case(entries[0].stream, once, many, folder)


def latest_facts(lines: Iterable[Line]) -> dict[str, Any]:
    """The last fact of each kind of which the latest alone counts."""
    return {
        line.kind: line.fact for line in lines if CASE_KINDS[line.kind].counting is Counting.LATEST
    }


def facts_by_kind(lines: Iterable[Line]) -> dict[str, tuple[Any, ...]]:
    """Every fact of each kind of which each counts, in order; a kind without any is there too."""
    found: dict[str, list[Any]] = {
        kind: [] for kind, row in CASE_KINDS.items() if row.counting is Counting.EACH
    }
    for line in lines:
        if line.kind in found:
            found[line.kind].append(line.fact)
    return {kind: tuple(facts) for kind, facts in found.items()}


def _case(
    stream: str, once: Mapping[str, Any], many: Mapping[str, tuple[Any, ...]], folder: Path
) -> Case:
    kit, marks = once.get("kit_chosen"), once.get("network_marked")
    return Case(
        id=stream,
        patient=once["patient_registered"],
        hospital=once.get("hospital_named", Hospital()),
        procedure=once.get("procedure_planned", Procedure()),
        referral=once.get("referral_received", Referral()),
        examination=many["examination_made"],
        ultrasound=many["ultrasound_reported"],
        semen=many["semen_analysed"],
        testes=many["testes_measured"],
        bloods=once.get("bloods_reported", Bloods()),
        medication=once.get("medication_recorded", Medication()),
        allergies=once.get("allergies_recorded", Allergies()),
        conditions=once.get("conditions_recorded", Conditions()),
        fertility=once.get("fertility_recorded", Fertility()),
        access=once.get("access_recorded", Access()),
        worklist=once.get("worklist_received", SideCheck()),
        consent=once.get("consent_signed", SideCheck()),
        time_out=once.get("time_out_held", SideCheck()),
        runs=_resolved(many["run_received"], folder),
        kit_file=None if kit is None else folder / kit.file,
        network_marks_file=None if marks is None else folder / marks.file,
        given=given_of(once, many),
        implants=many["coil_placed"],
        outcome=once.get("outcome_recorded", Outcome()),
        aftercare=once.get("aftercare_advised", Aftercare()),
    )


def given_of(once: Mapping[str, Any], many: Mapping[str, tuple[Any, ...]]) -> Given:
    """Everything given, of the facts by kind."""
    return Given(
        lidocaine=many["lidocaine_given"],
        other_anaesthetics=many["other_anaesthetic_given"],
        contrast=many["contrast_given"],
        sclerosant=many["sclerosant_given"],
        sedation=many["sedative_given"],
        nitrate=many["nitrate_given"],
        observations=many["observation_made"],
        radiation=once.get("radiation_recorded"),
    )


def _resolved(runs: Iterable[CaseRun], folder: Path) -> tuple[CaseRun, ...]:
    return tuple(replace(run, file=folder / run.file) for run in runs)
