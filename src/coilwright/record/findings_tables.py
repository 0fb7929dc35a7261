"""The tables of a case file that say what was found: by hand, ultrasound, semen and blood.

The bounds catch slips of the pen; they are no clinical limits.
"""

import datetime as dt

from coilwright.assessment import (
    BloodResult,
    Bloods,
    Examination,
    InrResult,
    PlexusLevel,
    Position,
    SemenSample,
    Testes,
    TestisSize,
    Ultrasound,
)
from coilwright.record.fields import Bounds, Fields
from coilwright.units import QuantityKind as Kind

VEIN_MM = (0.1, 30.0)
PLEXUS_SUM_MM = (0.1, 100.0)
FLOW_CM_PER_S = (0.0, 200.0)
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
HAEMOGLOBIN_G_PER_L = (20.0, 250.0)


def read_examination(fields: Fields, today: dt.date) -> Examination:
    """``[[examination]]``: one side, standing first."""
    examination = Examination(
        date=fields.day("date", not_after=today),
        side=fields.side(),
        position=fields.option("position", Position),
        palpable_at_rest=fields.flag("palpable_at_rest"),
        palpable_on_valsalva=fields.flag("palpable_on_valsalva"),
        visible=fields.flag("visible"),
        by=fields.text("by"),
    )
    _need_side(fields)
    fields.done()
    return examination


def read_ultrasound(fields: Fields, today: dt.date) -> Ultrasound:
    """``[[ultrasound]]``: one side."""
    ultrasound = Ultrasound(
        date=fields.day("date", not_after=today),
        side=fields.side(),
        varicocele=fields.flag("varicocele"),
        other_side_affected=fields.flag("other_side_affected"),
        vein_supine_rest_mm=_vein(fields, "vein_supine_rest"),
        vein_supine_valsalva_mm=_vein(fields, "vein_supine_valsalva"),
        vein_upright_rest_mm=_vein(fields, "vein_upright_rest"),
        vein_upright_valsalva_mm=_vein(fields, "vein_upright_valsalva"),
        largest_vein_at=fields.option("largest_vein_at", PlexusLevel),
        reflux_at_rest=fields.flag("reflux_at_rest"),
        reflux_on_valsalva=fields.flag("reflux_on_valsalva"),
        reflux_increases_on_valsalva=fields.flag("reflux_increases_on_valsalva"),
        reflux_level=fields.option("reflux_level", PlexusLevel),
        reflux_s=fields.measure("reflux_duration", Kind.TIME, "s", REFLUX_S),
        reflux_position=fields.option("reflux_position", Position),
        varices=fields.flag("varices"),
        plexus_seen=fields.flag("plexus_seen"),
        plexus_sum_mm=fields.measure("plexus_sum", Kind.LENGTH, "mm", PLEXUS_SUM_MM),
        valsalva_flow_change_cm_per_s=fields.measure(
            "valsalva_flow_change", Kind.VELOCITY, "cm/s", FLOW_CM_PER_S
        ),
        comment=fields.text("comment"),
        patient_id=fields.text("patient_id"),
    )
    _check_reflux(fields, ultrasound)
    fields.done()
    return ultrasound


def _need_side(fields: Fields) -> None:
    if not fields.has("side"):
        fields.missing("side", 'the side examined, "left" or "right"')


def _vein(fields: Fields, key: str) -> float | None:
    return fields.measure(key, Kind.LENGTH, "mm", VEIN_MM)


def _check_reflux(fields: Fields, found: Ultrasound) -> None:
    """Answers that cannot both be true are a slip in one of them."""
    if found.reflux_on_valsalva is False and found.reflux_s:
        fields.note("reflux_duration", "above zero without reflux", "check reflux_on_valsalva")
    if found.plexus_seen is False and found.plexus_sum_mm is not None:
        fields.note("plexus_sum", "stated although no plexus was seen", "check plexus_seen")


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
    _check_sperm(fields, sample)
    fields.done()
    return sample


def _check_sperm(fields: Fields, sample: SemenSample) -> None:
    """Without sperm none can move, live or be of normal form."""
    if sample.concentration_million_per_ml != 0:
        return
    shares = {
        "total_motility": sample.total_motility_percent,
        "progressive_motility": sample.progressive_motility_percent,
        "vitality": sample.vitality_percent,
        "normal_forms": sample.normal_forms_percent,
    }
    for key, percent in shares.items():
        if percent:
            fields.note(key, "above zero although the concentration is zero", "check concentration")


def _percent(fields: Fields, key: str) -> float | None:
    return fields.measure(key, Kind.PERCENT, "%", PERCENT)


def read_testes(fields: Fields, today: dt.date) -> Testes:
    """``[[testes]]``: each side as three diameters or a volume, one table a visit."""
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

    def result(key: str, kind: Kind, between: Bounds) -> BloodResult | None:
        value, own = fields.dated_quantity(key, kind, between, not_after=today)
        return None if value is None else BloodResult(value=value, date=own or common)

    inr, own = fields.dated_ratio("inr", INR, not_after=today)
    bloods = Bloods(
        creatinine=result("creatinine", Kind.CREATININE, CREATININE_UMOL_PER_L),
        inr=None if inr is None else InrResult(value=inr, date=own or common),
        platelets=result("platelets", Kind.BLOOD_CELLS, PLATELETS_PER_NL),
        haemoglobin=result("haemoglobin", Kind.HAEMOGLOBIN, HAEMOGLOBIN_G_PER_L),
    )
    fields.done()
    return bloods
