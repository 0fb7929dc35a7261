"""The tables of a case file that say who the patient is, who sent him, and what was agreed.

The bounds catch slips of the pen, such as a weight of 7000 kg; they are no clinical limits.
"""

import datetime as dt
from enum import StrEnum

from coilwright.assessment import Access, MeasuredLength, Patient, Referral, Sex, SideCheck
from coilwright.planning.route_measured import LONGEST_MM, SHORTEST_MM, measurable
from coilwright.record.fields import Fields
from coilwright.units import QuantityKind as Kind
from coilwright.veins import Side

OLDEST_YEARS = 120
WEIGHT_KG = (1.0, 400.0)
HEIGHT_MM = (300.0, 2600.0)
SHEATH_FR = (3.0, 12.0)


class _StatedSex(StrEnum):
    MALE = "male"
    FEMALE = "female"
    UNKNOWN = "unknown"


def read_patient(fields: Fields, today: dt.date) -> Patient:
    """``[patient]``: id and name must be there, the rest may be unknown."""
    height_mm = fields.measure("height", Kind.LENGTH, "mm", HEIGHT_MM)
    patient = Patient(
        id=fields.required_text("id"),
        name=fields.required_text("name"),
        birth_date=_birth_date(fields, today),
        sex=_sex(fields),
        weight_kg=fields.measure("weight", Kind.BODY_WEIGHT, "kg", WEIGHT_KG),
        height_cm=None if height_mm is None else height_mm / 10.0,
    )
    fields.done()
    return patient


def _birth_date(fields: Fields, today: dt.date) -> dt.date | None:
    day = fields.day("birth_date", not_after=today)
    if day is not None and today.year - day.year > OLDEST_YEARS:
        fields.note(
            "birth_date", f"more than {OLDEST_YEARS} years ago", "check the year, month and day"
        )
        return None
    return day


def _sex(fields: Fields) -> Sex | None:
    stated = fields.option("sex", _StatedSex)
    return None if stated in (None, _StatedSex.UNKNOWN) else Sex(stated.value)


def read_referral(fields: Fields, today: dt.date) -> Referral:
    """``[referral]``"""
    referral = Referral(
        sides=fields.sides(),
        reasons=fields.texts("reasons"),
        grade_as_stated=fields.text("grade_as_stated"),
        date=fields.day("date", not_after=today),
        referrer=fields.text("referrer"),
        patient_id=fields.text("patient_id"),
    )
    fields.done()
    return referral


def read_access(fields: Fields, today: dt.date) -> Access:  # noqa: ARG001  # one shape
    """``[access]``"""
    access = Access(
        vein=fields.text("vein"),
        side=fields.side(),
        sheath_fr=fields.measure("sheath", Kind.CALIBRE_FR, "Fr", SHEATH_FR),
        measured=tuple(_measured_length(item) for item in fields.tables("measured")),
    )
    fields.done()
    return access


def _measured_length(fields: Fields) -> MeasuredLength:
    """``[[access.measured]]``, under the names that the route has for its parts."""
    part = fields.required_text("part")
    names = tuple(dict.fromkeys(name for side in Side for name in measurable(side)))
    if part and part not in names:
        fields.note("part", f"{part!r} is no part of a way to the vein", f"use {', '.join(names)}")
    bounds = (SHORTEST_MM, LONGEST_MM)
    length_mm = fields.required_measure("length", Kind.LENGTH, "mm", bounds)
    fields.done()
    return MeasuredLength(part=part, length_mm=length_mm)


def read_side_check(fields: Fields, today: dt.date) -> SideCheck:
    """``[worklist]``, ``[consent]`` and ``[time_out]``"""
    check = SideCheck(
        sides=fields.sides(),
        date=fields.day("date", not_after=today),
        by=fields.text("by"),
        patient_id=fields.text("patient_id"),
    )
    fields.done()
    return check
