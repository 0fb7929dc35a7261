"""Whose run a file is, from its header alone."""

import warnings
from dataclasses import dataclass, replace
from pathlib import Path

import pydicom

from coilwright.advice import Advisory, Status, Urgency
from coilwright.errors import FileProblem, Problem
from coilwright.protocol import Citation, advise
from coilwright.record import Case

FROM_THE_HEADER = Citation(
    source="Patient ID (0010,0020) of the run's header", status=Status.COMPUTED
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunIdentity:
    """Empty strings where the header does not say."""

    sop_instance_uid: str
    patient_id: str


def run_identity(file: Path) -> RunIdentity:
    """The identity of a run's file.

    Raises
    ------
    FileProblem
        The file is not there or not DICOM.
    """
    with warnings.catch_warnings():
        # pydicom warns of odd values in fields that are not used here.
        warnings.simplefilter("ignore")
        try:
            header = pydicom.dcmread(
                file, stop_before_pixels=True, specific_tags=["SOPInstanceUID", "PatientID"]
            )
        except Exception as error:
            # pydicom raises many kinds on damaged files; all mean the same to the person.
            problem = Problem(
                field="file",
                found="the run cannot be read any more",
                mend="bring it back beside the case, or run coilwright plan again",
            )
            raise FileProblem(file, problem) from error
        return RunIdentity(
            sop_instance_uid=str(header.get("SOPInstanceUID", "")),
            patient_id=str(header.get("PatientID", "") or "").strip(),
        )


def patient_of_run(case: Case, file: Path) -> tuple[Advisory, ...]:
    """A stop where the run's header names another patient than the case; neither id is repeated."""
    named = run_identity(file).patient_id
    if not named:
        return (_say(Urgency.CAUTION, "The run's header names no patient: check whose run it is."),)
    if named != case.patient.id.strip():
        text = "The run's header names another patient ID than the case: check whose run it is."
        return (_say(Urgency.STOP_AND_THINK, text),)
    return ()


def patient_of_runs(case: Case) -> tuple[Advisory, ...]:
    """The same of every run of a case; the later ones are named where there are several."""
    first, *others = (run.file for run in case.runs)
    told = list(patient_of_run(case, first))
    for file in others:
        try:
            of_run = patient_of_run(case, file)
        except FileProblem:
            # A later run that cannot be read is left out of the map, which is told there.
            continue
        told += [replace(advisory, text=f"{file.name}: {advisory.text}") for advisory in of_run]
    return tuple(told)


def _say(urgency: Urgency, text: str) -> Advisory:
    return advise(rule="run-patient", urgency=urgency, text=text, basis=(FROM_THE_HEADER,))
