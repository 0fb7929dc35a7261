"""The tables of a case file that say who the patient is and what is known of him.

The bounds catch slips of the pen, such as a weight of 7000 kg; they are no clinical limits.
"""

import datetime as dt

from coilwright.assessment.facts import (
    Access,
    Allergies,
    BloodResult,
    Bloods,
    Conditions,
    InrResult,
    Medication,
    Onset,
    Patient,
    Referral,
    RenalVein,
    SemenSample,
    Sex,
    SideCheck,
    Testes,
    TestisSize,
    Ultrasound,
)
from coilwright.record.fields import Fields
from coilwright.units import Quantity
from coilwright.units import QuantityKind as Kind

OLDEST_YEARS = 120
WEIGHT_KG = (1.0, 400.0)
HEIGHT_MM = (300.0, 2600.0)
VEIN_MM = (0.1, 30.0)
REFLUX_S = (0.0, 120.0)
TESTIS_MM = (1.0, 120.0)
TESTIS_ML = (0.1, 100.0)
SEMEN_ML = (0.0, 30.0)
SPERM_MILLION_PER_ML = (0.0, 2000.0)
PERCENT = (0.0, 100.0)
ABSTINENCE_S = (0.0, 60.0 * 86400.0)
CREATININE_UMOL_PER_L = (10.0, 3000.0)
INR = (0.5, 20.0)
PLATELETS_PER_NL = (1.0, 3000.0)
GRADIENT_MMHG = (-20.0, 40.0)
SHEATH_FR = (3.0, 12.0)
UNKNOWN_SEX = "unknown"


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
    stated = fields.raw("sex")
    if isinstance(stated, str) and stated.strip().lower() == UNKNOWN_SEX:
        return None
    return fields.option("sex", Sex)


def read_referral(fields: Fields, today: dt.date) -> Referral:
    """``[referral]``"""
    referral = Referral(
        side=fields.side(),
        reasons=fields.texts("reasons"),
        grade_as_stated=fields.text("grade_as_stated"),
        date=fields.day("date", not_after=today),
        referrer=fields.text("referrer"),
    )
    fields.done()
    return referral


def read_ultrasound(fields: Fields, today: dt.date) -> Ultrasound:
    """``[ultrasound]``"""
    ultrasound = Ultrasound(
        date=fields.day("date", not_after=today),
        side=fields.side(),
        other_side_affected=fields.flag("other_side_affected"),
        vein_supine_rest_mm=_vein(fields, "vein_supine_rest"),
        vein_supine_valsalva_mm=_vein(fields, "vein_supine_valsalva"),
        vein_upright_rest_mm=_vein(fields, "vein_upright_rest"),
        vein_upright_valsalva_mm=_vein(fields, "vein_upright_valsalva"),
        reflux_s=fields.measure("reflux_duration", Kind.TIME, "s", REFLUX_S),
        comment=fields.text("comment"),
    )
    fields.done()
    return ultrasound


def _vein(fields: Fields, key: str) -> float | None:
    return fields.measure(key, Kind.LENGTH, "mm", VEIN_MM)


def read_semen(fields: Fields, today: dt.date) -> SemenSample:
    """``[[semen]]``"""
    sample = SemenSample(
        date=fields.day("date", not_after=today),
        abstinence_d=fields.measure("abstinence", Kind.TIME, "d", ABSTINENCE_S),
        volume_ml=fields.measure("volume", Kind.VOLUME, "mL", SEMEN_ML),
        concentration_million_per_ml=fields.measure(
            "concentration", Kind.SPERM_CONCENTRATION, "10^6/mL", SPERM_MILLION_PER_ML
        ),
        total_motility_percent=_percent(fields, "total_motility"),
        progressive_motility_percent=_percent(fields, "progressive_motility"),
        vitality_percent=_percent(fields, "vitality"),
        normal_forms_percent=_percent(fields, "normal_forms"),
    )
    total, progressive = sample.total_motility_percent, sample.progressive_motility_percent
    if total is not None and progressive is not None and progressive > total:
        fields.note("progressive_motility", "greater than total_motility", "check which is which")
    fields.done()
    return sample


def _percent(fields: Fields, key: str) -> float | None:
    return fields.measure(key, Kind.PERCENT, "%", PERCENT)


def read_testes(fields: Fields, today: dt.date) -> Testes:
    """``[testes]``: each side as three diameters or a volume."""
    testes = Testes(
        date=fields.day("date", not_after=today),
        left=_testis(fields.table("left")),
        right=_testis(fields.table("right")),
    )
    fields.done()
    return testes


def _testis(fields: Fields) -> TestisSize | None:
    if not fields.present:
        return None
    size = TestisSize(
        length_mm=fields.measure("length", Kind.LENGTH, "mm", TESTIS_MM),
        width_mm=fields.measure("width", Kind.LENGTH, "mm", TESTIS_MM),
        height_mm=fields.measure("height", Kind.LENGTH, "mm", TESTIS_MM),
        stated_volume_ml=fields.measure("volume", Kind.VOLUME, "mL", TESTIS_ML),
    )
    fields.done()
    return size


def read_bloods(fields: Fields, today: dt.date) -> Bloods:
    """``[bloods]``: each result a quantity, or a table with value, unit and date.

    A ``date`` beside the results holds for those that have none of their own.
    """
    common = fields.day("date", not_after=today)
    bloods = Bloods(
        creatinine=_dated(
            fields.quantity("creatinine", Kind.CREATININE, CREATININE_UMOL_PER_L, beside=("date",)),
            _own_date(fields, "creatinine", today) or common,
        ),
        inr=_inr(fields, common, today),
        platelets=_dated(
            fields.quantity("platelets", Kind.BLOOD_CELLS, PLATELETS_PER_NL, beside=("date",)),
            _own_date(fields, "platelets", today) or common,
        ),
    )
    fields.done()
    return bloods


def _dated(quantity: Quantity | None, day: dt.date | None) -> BloodResult | None:
    return None if quantity is None else BloodResult(value=quantity, date=day)


def _own_date(fields: Fields, key: str, today: dt.date) -> dt.date | None:
    if not isinstance(fields.raw(key), dict):
        return None
    return fields.table(key).day("date", not_after=today)


def _inr(fields: Fields, common: dt.date | None, today: dt.date) -> InrResult | None:
    if not isinstance(fields.raw("inr"), dict):
        value = fields.ratio("inr", INR)
        return None if value is None else InrResult(value=value, date=common)
    inner = fields.table("inr")
    if not inner.has("value"):
        inner.missing("value", "the INR")
    if inner.raw("unit") not in (None, "1"):
        inner.note("unit", "an INR has no unit", "leave the key out")
    value = inner.ratio("value", INR)
    own = inner.day("date", not_after=today)
    inner.done()
    return None if value is None else InrResult(value=value, date=own or common)


def read_medication(fields: Fields, today: dt.date) -> Medication:  # noqa: ARG001  # one shape
    """``[medication]``"""
    medication = Medication(
        metformin=fields.flag("metformin"),
        pde5_inhibitor=fields.flag("pde5_inhibitor"),
        nitrate=fields.flag("nitrate"),
        anticoagulant=fields.text("anticoagulant"),
        antiplatelet=fields.text("antiplatelet"),
        others=fields.texts("others"),
    )
    fields.done()
    return medication


def read_allergies(fields: Fields, today: dt.date) -> Allergies:  # noqa: ARG001  # one shape
    """``[allergies]``"""
    allergies = Allergies(
        contrast=fields.flag("contrast"),
        local_anaesthetic=fields.flag("local_anaesthetic"),
        sclerosant=fields.flag("sclerosant"),
        metal=fields.flag("metal"),
        others=fields.texts("others"),
    )
    fields.done()
    return allergies


def read_conditions(fields: Fields, today: dt.date) -> Conditions:  # noqa: ARG001  # one shape
    """``[conditions]``, with ``[conditions.renal_vein]`` inside."""
    conditions = Conditions(
        onset=fields.option("onset", Onset),
        acute_pain=fields.flag("acute_pain"),
        empties_supine=fields.flag("empties_supine"),
        renal_vein=_renal_vein(fields.table("renal_vein")),
        acute_kidney_injury=fields.flag("acute_kidney_injury"),
        dialysis=fields.flag("dialysis"),
        right_to_left_shunt=fields.flag("right_to_left_shunt"),
        stroke_or_tia=fields.flag("stroke_or_tia"),
        migraine=fields.flag("migraine"),
        pulmonary_hypertension=fields.flag("pulmonary_hypertension"),
        thrombosis_risk=fields.flag("thrombosis_risk"),
        others=fields.texts("others"),
    )
    fields.done()
    return conditions


def _renal_vein(fields: Fields) -> RenalVein:
    renal_vein = RenalVein(
        compression_signs=fields.flag("compression_signs"),
        occlusion=fields.flag("occlusion"),
        circumaortic=fields.flag("circumaortic"),
        retroaortic=fields.flag("retroaortic"),
        gradient_mmhg=fields.measure("gradient", Kind.PRESSURE, "mmHg", GRADIENT_MMHG),
        imaging=fields.text("imaging"),
    )
    fields.done()
    return renal_vein


def read_access(fields: Fields, today: dt.date) -> Access:  # noqa: ARG001  # one shape
    """``[access]``"""
    access = Access(
        vein=fields.text("vein"),
        side=fields.side(),
        sheath_fr=fields.measure("sheath", Kind.CALIBRE_FR, "Fr", SHEATH_FR),
    )
    fields.done()
    return access


def read_side_check(fields: Fields, today: dt.date) -> SideCheck:
    """``[consent]`` and ``[time_out]``"""
    check = SideCheck(
        side=fields.side(), date=fields.day("date", not_after=today), by=fields.text("by")
    )
    fields.done()
    return check
