"""The case file: TOML in, entries of the record out, every problem told at once.

Each top-level table becomes one entry, each item of a list one of its own. An entry's id follows
from its stream and its key, and its times from the file and the day of reading, so reading the same
file twice on one day gives the same chain.
"""

import datetime as dt
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from uuid import UUID, uuid5

from coilwright.assessment.facts import Patient
from coilwright.errors import CaseProblem, FileProblem, Problem
from coilwright.record.case import Case, Procedure
from coilwright.record.case_fold import fold_case, payload_of
from coilwright.record.entry import Entry, chain
from coilwright.record.fields import Fields
from coilwright.record.patient_tables import (
    read_access,
    read_allergies,
    read_bloods,
    read_conditions,
    read_medication,
    read_patient,
    read_referral,
    read_semen,
    read_side_check,
    read_testes,
    read_ultrasound,
)
from coilwright.record.procedure_tables import (
    read_aftercare,
    read_contrast,
    read_hospital,
    read_implant,
    read_kit,
    read_lidocaine,
    read_outcome,
    read_procedure,
    read_radiation,
    read_run,
    read_sclerosant,
)

CASE_FORMAT = "coilwright.case"
CASE_VERSION = 1
AUTHOR = "case file"
# A namespace of our own for uuid5; made once at random.
ENTRY_NAMESPACE = UUID("5f0e7c5e-6b0c-4d3a-9a55-2f4f5e0c8d11")

Fact = tuple[str, str, object]  # kind of entry, key in the file, what it says

_ABOUT_THE_PATIENT: tuple[tuple[str, str, Callable[[Fields, dt.date], object]], ...] = (
    ("referral", "referral_received", read_referral),
    ("ultrasound", "ultrasound_reported", read_ultrasound),
    ("bloods", "bloods_reported", read_bloods),
    ("medication", "medication_recorded", read_medication),
    ("allergies", "allergies_recorded", read_allergies),
    ("conditions", "conditions_recorded", read_conditions),
    ("access", "access_recorded", read_access),
    ("consent", "consent_signed", read_side_check),
    ("time_out", "time_out_held", read_side_check),
)
_GIVEN_LISTS: tuple[tuple[str, str, Callable[[Fields], object]], ...] = (
    ("lidocaine", "lidocaine_given", read_lidocaine),
    ("contrast", "contrast_given", read_contrast),
    ("sclerosant", "sclerosant_given", read_sclerosant),
    ("implants", "coil_placed", read_implant),
)


def load_case(file: Path, today: dt.date) -> Case:
    """The case of a case file.

    Raises
    ------
    FileProblem
        The file cannot be read or is not TOML.
    CaseProblem
        Values that cannot be used: all of them, each with its dotted key and the mend.
    """
    return fold_case(load_entries(file, today), folder=file.parent)


def load_entries(file: Path, today: dt.date) -> tuple[Entry, ...]:
    """The case file as a chain of entries.

    Raises
    ------
    FileProblem, CaseProblem
        As for ``load_case``.
    """
    table = _read_toml(file)
    problems: list[Problem] = []
    facts = list(_facts(Fields(table, path="", problems=problems), file.parent, today))
    if problems:
        raise CaseProblem(file, tuple(problems))
    stream = _stream(facts)
    return chain([_entry(stream, fact, today) for fact in facts])


def _read_toml(file: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(file.read_text(encoding="utf-8"))
    except tomllib.TOMLDecodeError as error:
        what, _, place = str(error).partition(" (at ")
        problem = Problem(
            field=place.rstrip(")") or "file",
            found=f"not valid TOML ({what[:1].lower()}{what[1:]})",
            mend="mend the line",
        )
        raise FileProblem(file, problem) from error
    except UnicodeDecodeError as error:
        problem = Problem(field="file", found="not UTF-8 text", mend="save it as UTF-8")
        raise FileProblem(file, problem) from error
    except (ValueError, RecursionError) as error:
        # tomllib lets a number of thousands of digits and endless nesting through to Python.
        problem = Problem(field="file", found="not valid TOML", mend="shorten the number or list")
        raise FileProblem(file, problem) from error
    except OSError as error:
        found = (error.strerror or "cannot be read").lower()
        problem = Problem(field="file", found=found, mend="give a case file that can be read")
        raise FileProblem(file, problem) from error


def _facts(top: Fields, folder: Path, today: dt.date) -> Iterator[Fact]:
    _check_format(top)
    patient = top.table("patient")
    if not top.has("patient"):
        top.missing("patient", "a table [patient] with id and name")
    else:
        yield "patient_registered", "patient", read_patient(patient, today)
    yield from _stated_once(top, today)
    for kind, key, items, read in (
        ("semen_analysed", "semen", top.tables("semen"), read_semen),
        ("testes_measured", "testes", top.tables("testes"), read_testes),
    ):
        for place, item in enumerate(items):
            yield kind, f"{key}[{place}]", read(item, today)
    for place, item in enumerate(top.tables("runs")):
        yield "run_received", f"runs[{place}]", read_run(item, folder)
    kit = top.table("kit")
    if kit.present:
        yield "kit_chosen", "kit", read_kit(kit, folder)
    yield from _given(top.table("given"))
    aftercare = top.table("aftercare")
    if aftercare.present:
        yield "aftercare_advised", "aftercare", read_aftercare(aftercare)
    top.done()


def _check_format(top: Fields) -> None:
    stated_format, stated_version = top.raw("format"), top.raw("version")
    if stated_format not in (None, CASE_FORMAT):
        top.note("format", "not a case file", f'write "{CASE_FORMAT}"')
    if stated_version not in (None, CASE_VERSION):
        top.note("version", "a version that is not known here", f"write {CASE_VERSION}")


def _stated_once(top: Fields, today: dt.date) -> Iterator[Fact]:
    hospital, procedure = top.table("hospital"), top.table("procedure")
    if hospital.present:
        yield "hospital_named", "hospital", read_hospital(hospital)
    if procedure.present:
        yield "procedure_planned", "procedure", read_procedure(procedure)
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
        author=AUTHOR,
        kind=kind,
        payload=payload_of(value),
    )
