"""The case file: TOML in, entries of the record out, every problem told at once.

Each top-level table becomes one entry, each item of a list one of its own. An entry's id follows
from its stream and its key, and its times from the file and the day of reading, so reading the same
file twice on one day gives the same chain.
"""

import datetime as dt
from collections.abc import Callable, Iterator
from pathlib import Path
from uuid import UUID, uuid5

from coilwright.assessment import Patient
from coilwright.errors import CaseProblem, Problem
from coilwright.record.case import Case, Procedure
from coilwright.record.case_fold import fold_case
from coilwright.record.entry import CASE_FILE_AUTHOR, Entry, chain
from coilwright.record.entry_payload import payload_of
from coilwright.record.fields import Fields
from coilwright.record.findings_tables import (
    read_bloods,
    read_examination,
    read_semen,
    read_testes,
    read_ultrasound,
)
from coilwright.record.given_tables import (
    read_contrast,
    read_lidocaine,
    read_nitrate,
    read_observation,
    read_other_anaesthetic,
    read_radiation,
    read_sclerosant,
    read_sedative,
)
from coilwright.record.history_tables import (
    read_allergies,
    read_conditions,
    read_fertility,
    read_medication,
)
from coilwright.record.patient_tables import (
    read_access,
    read_patient,
    read_referral,
    read_side_check,
)
from coilwright.record.procedure_tables import (
    read_aftercare,
    read_hospital,
    read_implant,
    read_kit,
    read_network_marked,
    read_outcome,
    read_procedure,
    read_run,
)
from coilwright.toml_file import read_toml

CASE_FORMAT = "coilwright.case"
CASE_VERSION = 1
# A namespace of our own for uuid5; made once at random.
ENTRY_NAMESPACE = UUID("5f0e7c5e-6b0c-4d3a-9a55-2f4f5e0c8d11")

Fact = tuple[str, str, object]  # kind of entry, key in the file, what it says

_ABOUT_THE_PATIENT: tuple[tuple[str, str, Callable[[Fields, dt.date], object]], ...] = (
    ("referral", "referral_received", read_referral),
    ("bloods", "bloods_reported", read_bloods),
    ("medication", "medication_recorded", read_medication),
    ("allergies", "allergies_recorded", read_allergies),
    ("conditions", "conditions_recorded", read_conditions),
    ("fertility", "fertility_recorded", read_fertility),
    ("access", "access_recorded", read_access),
    ("worklist", "worklist_received", read_side_check),
    ("consent", "consent_signed", read_side_check),
    ("time_out", "time_out_held", read_side_check),
)
_LISTS_ABOUT_THE_PATIENT: tuple[tuple[str, str, Callable[[Fields, dt.date], object]], ...] = (
    ("examination", "examination_made", read_examination),
    ("ultrasound", "ultrasound_reported", read_ultrasound),
    ("semen", "semen_analysed", read_semen),
    ("testes", "testes_measured", read_testes),
)
_GIVEN_LISTS: tuple[tuple[str, str, Callable[[Fields], object]], ...] = (
    ("lidocaine", "lidocaine_given", read_lidocaine),
    ("other_anaesthetics", "other_anaesthetic_given", read_other_anaesthetic),
    ("contrast", "contrast_given", read_contrast),
    ("sclerosant", "sclerosant_given", read_sclerosant),
    ("sedation", "sedative_given", read_sedative),
    ("nitrate", "nitrate_given", read_nitrate),
    ("observations", "observation_made", read_observation),
    ("implants", "coil_placed", read_implant),
)


def load_case(file: Path, today: dt.date, *, files_needed: bool = True) -> Case:
    """The case of a case file.

    Runs, kit and network marks must be there beside it, unless ``files_needed`` is false:
    assessment reads none.

    Raises
    ------
    FileProblem
        The file cannot be read or is not TOML.
    CaseProblem
        Values that cannot be used: all of them, each with its dotted key and the mend.
    """
    entries = load_entries(file, today, files_needed=files_needed)
    return fold_case(entries, folder=file.parent)


def load_entries(file: Path, today: dt.date, *, files_needed: bool = True) -> tuple[Entry, ...]:
    """The case file as a chain of entries.

    Raises
    ------
    FileProblem, CaseProblem
        As for ``load_case``.
    """
    table = read_toml(file).table
    problems: list[Problem] = []
    folder = file.parent if files_needed else None
    facts = list(read_case_tables(Fields(table, path="", problems=problems), folder, today))
    if problems:
        raise CaseProblem(file, tuple(problems))
    stream = _stream(facts)
    return chain([_entry(stream, fact, today) for fact in facts])


def read_case_tables(top: Fields, folder: Path | None, today: dt.date) -> Iterator[Fact]:
    """Every fact that the tables of a case file state; problems are kept in ``top``."""
    top.fixed("format", CASE_FORMAT, "not a case file")
    top.fixed("version", CASE_VERSION, "a version that is not known here")
    patient = top.required_table("patient", "a table [patient] with id and name")
    birth_date = None
    if patient.present:
        registered = read_patient(patient, today)
        birth_date = registered.birth_date
        yield "patient_registered", "patient", registered
    yield from _stated_once(top, today, birth_date)
    for key, kind, read in _LISTS_ABOUT_THE_PATIENT:
        for place, item in enumerate(top.tables(key)):
            yield kind, f"{key}[{place}]", read(item, today)
    for place, item in enumerate(top.tables("runs")):
        yield "run_received", f"runs[{place}]", read_run(item, folder)
    kit = top.table("kit")
    if kit.present:
        yield "kit_chosen", "kit", read_kit(kit, folder)
    marks = top.table("network_marks")
    if marks.present:
        yield "network_marked", "network_marks", read_network_marked(marks, folder)
    yield from _given(top.table("given"))
    aftercare = top.table("aftercare")
    if aftercare.present:
        yield "aftercare_advised", "aftercare", read_aftercare(aftercare)
    top.done()


def _stated_once(top: Fields, today: dt.date, birth_date: dt.date | None) -> Iterator[Fact]:
    hospital, procedure = top.table("hospital"), top.table("procedure")
    if hospital.present:
        yield "hospital_named", "hospital", read_hospital(hospital)
    if procedure.present:
        yield "procedure_planned", "procedure", read_procedure(procedure, birth_date)
    for key, kind, read in _ABOUT_THE_PATIENT:
        fields = top.table(key)
        if fields.present:
            yield kind, key, read(fields, today)


def _given(given: Fields) -> Iterator[Fact]:
    for key, kind, read in _GIVEN_LISTS:
        for place, item in enumerate(given.tables(key)):
            yield kind, f"given.{key}[{place}]", read(item)
    radiation = given.table("radiation")
    if radiation.present:
        yield "radiation_recorded", "given.radiation", read_radiation(radiation)
    outcome = read_outcome(given)
    if given.has("result") or given.has("haemostasis"):
        yield "outcome_recorded", "given.result", outcome
    given.done()


def _stream(facts: list[Fact]) -> str:
    """A name for the case that does not show who the patient is."""
    patient = next(value.id for _, _, value in facts if isinstance(value, Patient))
    days = [value.date for _, _, value in facts if isinstance(value, Procedure)]
    return f"case-{uuid5(ENTRY_NAMESPACE, f'{patient} {days}')}"


def _entry(stream: str, fact: Fact, today: dt.date) -> Entry:
    kind, key, value = fact
    recorded_at = dt.datetime.combine(today, dt.time(), tzinfo=dt.UTC)
    day = getattr(value, "date", None)
    return Entry(
        id=uuid5(ENTRY_NAMESPACE, f"{stream} {key}"),
        stream=stream,
        seq=0,
        at=recorded_at if day is None else dt.datetime.combine(day, dt.time(), tzinfo=dt.UTC),
        recorded_at=recorded_at,
        author=CASE_FILE_AUTHOR,
        kind=kind,
        payload=payload_of(value),
    )
