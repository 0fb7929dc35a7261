"""The tables of a case file about the procedure: plan, runs, kit, implants, how it ended.

The bounds catch slips of the pen; they are no clinical limits.
"""

import datetime as dt
from pathlib import Path

from coilwright.assessment import PlannedAnaesthetic, PlannedContrast, PlannedSclerosant
from coilwright.record.case import (
    Aftercare,
    CaseRun,
    Hospital,
    Implant,
    KitChosen,
    NetworkMarked,
    Outcome,
    Procedure,
)
from coilwright.record.fields import Fields
from coilwright.record.given_tables import iodine, sclerosant, strength
from coilwright.record.patient_tables import OLDEST_YEARS
from coilwright.units import QuantityKind as Kind
from coilwright.units import fr_to_mm
from coilwright.veins import Conditions as RunConditions
from coilwright.veins import Landmark, Landmarks

GAS_PER_LIQUID = (0.5, 10.0)
CATHETER_FR = (1.5, 12.0)
LUMEN_MM, WIDEST_LUMEN = (0.3, 3.5), 0.9
MM_PER_PIXEL = (0.02, 2.0)
RUN_ML = (0.0, 100.0)
RUN_ML_PER_S = (0.0, 50.0)
TILT_DEG = (-90.0, 90.0)
MARK_SD_MM = (0.1, 50.0)
MARKED = "marked by the operator on the raw frame"


def read_hospital(fields: Fields) -> Hospital:
    """``[hospital]``"""
    hospital = Hospital(
        name=fields.text("name"),
        department=fields.text("department"),
        operator=fields.text("operator"),
    )
    fields.done()
    return hospital


def read_procedure(fields: Fields, birth_date: dt.date | None) -> Procedure:
    """``[procedure]``, with the drugs that lie ready as tables inside.

    Ages are reckoned on its day, so that must lie in the patient's life.
    """
    procedure = Procedure(
        date=_day_after_birth(fields, birth_date),
        indication=fields.text("indication"),
        technique=fields.text("technique"),
        local_anaesthetic=_planned_anaesthetic(fields.table("local_anaesthetic")),
        contrast=_planned_contrast(fields.table("contrast")),
        sclerosant=_planned_sclerosant(fields.table("sclerosant")),
        sedation_planned=fields.flag("sedation_planned"),
    )
    fields.done()
    return procedure


def _day_after_birth(fields: Fields, birth_date: dt.date | None) -> dt.date | None:
    day = fields.day("date")
    if day is None or birth_date is None:
        return day
    if day < birth_date:
        fields.note("date", "the day lies before patient.birth_date", "check both days")
    elif day.year - birth_date.year > OLDEST_YEARS:
        found = f"more than {OLDEST_YEARS} years after patient.birth_date"
        fields.note("date", found, "check both days")
    return day


def _planned_anaesthetic(fields: Fields) -> PlannedAnaesthetic | None:
    if not fields.present:
        return None
    planned = PlannedAnaesthetic(
        strength_mg_per_ml=strength(fields), adrenaline=fields.required_flag("adrenaline")
    )
    fields.done()
    return planned


def _planned_contrast(fields: Fields) -> PlannedContrast | None:
    if not fields.present:
        return None
    planned = PlannedContrast(concentration_mgi_per_ml=iodine(fields), agent=fields.text("agent"))
    fields.done()
    return planned


def _planned_sclerosant(fields: Fields) -> PlannedSclerosant | None:
    if not fields.present:
        return None
    planned = PlannedSclerosant(
        drug=sclerosant(fields),
        strength_mg_per_ml=strength(fields),
        foam=fields.flag("foam"),
        gas_per_liquid=fields.number("gas_per_liquid", GAS_PER_LIQUID),
    )
    fields.done()
    return planned


def read_run(fields: Fields, folder: Path | None) -> CaseRun:
    """One of ``[[runs]]``; its file must lie in ``folder``, unless that is None."""
    run = CaseRun(
        file=_file_beside(fields, folder, "the run was exported there, or mend the name"),
        catheter_fr=fields.number("catheter_fr", CATHETER_FR),
        catheter_lumen_mm=_lumen_mm(fields),
        mm_per_pixel=fields.number("mm_per_pixel", MM_PER_PIXEL),
        mask_frames=fields.whole_numbers("mask_frames"),
        side=fields.side(),
        conditions=_run_conditions(fields.table("conditions")),
        landmarks=_marks(fields.table("marks")),
    )
    fields.done()
    return run


def _lumen_mm(fields: Fields) -> float | None:
    """The lumen on the catheter's label: it needs the size, and leaves a wall."""
    lumen_mm = fields.number("catheter_lumen_mm", LUMEN_MM)
    if lumen_mm is None:
        return None
    size_fr = fields.number("catheter_fr", CATHETER_FR)
    if size_fr is None:
        fields.note("catheter_lumen_mm", "catheter_fr is missing", "give both")
        return None
    if lumen_mm > WIDEST_LUMEN * fr_to_mm(size_fr):
        found = f"{lumen_mm:g} mm leaves no wall in {size_fr:g} F"
        fields.note("catheter_lumen_mm", found, "give the inner diameter of the label, in mm")
        return None
    return lumen_mm


def read_kit(fields: Fields, folder: Path | None) -> KitChosen:
    """``[kit]``; its file must lie in ``folder``, unless that is None."""
    kit = KitChosen(file=_file_beside(fields, folder, "the kit file is there, or mend the name"))
    fields.done()
    return kit


def read_network_marked(fields: Fields, folder: Path | None) -> NetworkMarked:
    """``[network_marks]``; its file must lie in ``folder``, unless that is None."""
    check = "the file of network marks is there, or mend the name"
    marked = NetworkMarked(file=_file_beside(fields, folder, check))
    fields.done()
    return marked


def _file_beside(fields: Fields, folder: Path | None, check: str) -> Path:
    name = fields.required_text("file")
    if name and folder is not None and not (folder / name).is_file():
        fields.note("file", f'"{name}" does not exist beside the case file', f"check that {check}")
    return Path(name)


def _run_conditions(fields: Fields) -> RunConditions:
    conditions = RunConditions(
        tip_site=fields.text("tip_site"),
        volume_ml=fields.measure("volume", Kind.VOLUME, "mL", RUN_ML),
        rate_ml_per_s=fields.measure("rate", Kind.RATE, "mL/s", RUN_ML_PER_S),
        valsalva=fields.flag("valsalva"),
        tilt_deg=fields.measure("tilt", Kind.ANGLE, "deg", TILT_DEG),
        breath_phase=fields.text("breath_phase"),
    )
    fields.done()
    return conditions


def _marks(fields: Fields) -> Landmarks:
    points = {
        name: fields.point(f"{name}_px")
        for name in ("ostium", "internal_ring", "superior_ramus_edge")
    }
    sd_mm = fields.number("sd_mm", MARK_SD_MM)
    if not fields.has("sd_mm") and any(fields.has(f"{name}_px") for name in points):
        fields.missing("sd_mm", "how sure the marks are, in mm")
    fields.done()
    return Landmarks(
        **{
            name: Landmark(point_px=point, sd_mm=sd_mm, how=MARKED)
            for name, point in points.items()
            if point is not None and sd_mm is not None
        }
    )


def read_implant(fields: Fields) -> Implant:
    """One of ``[[given.implants]]``"""
    implant = Implant(
        level=fields.required_text("level"),
        device=fields.required_text("device"),
        lot=fields.text("lot"),
        serial=fields.text("serial"),
        udi=fields.text("udi"),
        at=fields.moment("at"),
    )
    fields.done()
    return implant


def read_outcome(fields: Fields) -> Outcome:
    """``result`` and ``haemostasis`` of ``[given]``"""
    return Outcome(result=fields.text("result"), haemostasis=fields.text("haemostasis"))


def read_aftercare(fields: Fields) -> Aftercare:
    """``[aftercare]``"""
    aftercare = Aftercare(advice=fields.texts("advice"), follow_up=fields.texts("follow_up"))
    fields.done()
    return aftercare
