"""The demo's run: rendered, and labelled with the demo's invented patient and hospital."""

import datetime as dt
from pathlib import Path
from typing import Any

import pydicom

from coilwright.phantom import Rendered, write_run


def write_labelled_run(rendered: Rendered, case: dict[str, Any], path: Path) -> None:
    """Write the run as DICOM with the names and days of ``case``, the case file as a table.

    References
    ----------
    Patient PS3.3 C.7.1.1, General Study C.7.2.1, General Equipment C.7.5.1.
    """
    write_run(rendered, path)
    dataset = pydicom.dcmread(path)
    patient, day = case["patient"], _da(case["procedure"]["date"])
    dataset.PatientName = "^".join(part.strip() for part in patient["name"].split(","))
    dataset.PatientID = patient["id"]
    dataset.PatientBirthDate = _da(patient["birth_date"])
    for name in ("StudyDate", "SeriesDate", "AcquisitionDate", "ContentDate"):
        setattr(dataset, name, day)
    dataset.InstitutionName = case["hospital"]["name"]
    dataset.save_as(path, enforce_file_format=True)


def _da(day: dt.date) -> str:
    """A date as DICOM writes it: YYYYMMDD (PS3.5 6.2, DA)."""
    return f"{day:%Y%m%d}"
