"""Which units each kind of quantity may be given in, and how clinicians spell them.

One row per unit: its written form, its size in the kind's first unit, other spellings. Spellings
are compared without spaces and without case, after ``plain_spelling``.
"""

from dataclasses import dataclass
from enum import StrEnum

from coilwright.units.creatinine import UMOL_PER_L_PER_MG_PER_DL
from coilwright.units.dose_area import DoseAreaUnit, dose_area_gy_cm2
from coilwright.units.solution import MG_PER_ML_PER_PERCENT


class QuantityKind(StrEnum):
    """What a quantity is of; its words complete the sentence "give the ... with its unit"."""

    BODY_WEIGHT = "weight"
    DRUG_MASS = "mass"
    LENGTH = "length"
    VOLUME = "volume"
    CREATININE = "creatinine"
    DRUG_STRENGTH = "strength"
    IODINE_CONCENTRATION = "iodine concentration"
    BLOOD_CELLS = "count"
    SPERM_CONCENTRATION = "sperm concentration"
    PERCENT = "percentage"
    TIME = "time"
    PRESSURE = "pressure"
    RATE = "rate"
    ANGLE = "angle"
    DOSE_AREA = "dose-area product"
    AIR_KERMA = "air kerma"
    CALIBRE_FR = "French size"
    VELOCITY = "velocity"
    HAEMOGLOBIN = "haemoglobin"
    MONTHS = "duration"
    HEART_RATE = "heart rate"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """One unit: how it is written, and how many of the kind's first unit it holds."""

    written: str
    factor: float
    spellings: tuple[str, ...] = ()


def _unit(written: str, factor: float, *spellings: str) -> Unit:
    return Unit(written=written, factor=factor, spellings=spellings)


_PLAIN = str.maketrans(
    {
        "µ": "u",  # micro sign
        "μ": "u",  # Greek mu
        "²": "2",
        "³": "3",
        "⁶": "^6",
        "⁹": "^9",
        "×": "x",
        "·": ".",
        "⋅": ".",
        "−": "-",
        " ": None,
        "\N{NO-BREAK SPACE}": None,
        "\N{NARROW NO-BREAK SPACE}": None,
    }
)


def plain_spelling(text: str) -> str:
    """A unit's spelling in plain letters without spaces and case, for comparing.

    Examples
    --------
    >>> plain_spelling("µmol / l")
    'umol/l'
    """
    return text.translate(_PLAIN).casefold()


UNITS: dict[QuantityKind, tuple[Unit, ...]] = {
    QuantityKind.BODY_WEIGHT: (
        _unit("kg", 1.0, "kilogram", "kilograms", "kgs"),
        _unit("g", 0.001),
        _unit("lb", 0.45359237, "lbs", "pound", "pounds"),  # by definition since 1959
    ),
    QuantityKind.DRUG_MASS: (
        _unit("mg", 1.0),
        _unit("g", 1000.0),
        _unit("ug", 0.001, "mcg"),
    ),
    QuantityKind.LENGTH: (
        _unit("mm", 1.0, "millimetre", "millimetres"),
        _unit("cm", 10.0, "centimetre", "centimetres"),
        _unit("m", 1000.0, "metre", "metres"),
        _unit("inch", 25.4, "in", "inches"),
    ),
    QuantityKind.VOLUME: (
        _unit("mL", 1.0, "cc", "cm3", "millilitre", "millilitres"),
        _unit("L", 1000.0, "litre", "litres"),
        _unit("uL", 0.001),
    ),
    QuantityKind.CREATININE: (
        _unit("umol/L", 1.0, "micromol/l", "mcmol/l"),
        _unit("mg/dL", UMOL_PER_L_PER_MG_PER_DL, "mg%"),
        _unit("mg/L", UMOL_PER_L_PER_MG_PER_DL / 10.0),
        _unit("mmol/L", 1000.0),
    ),
    QuantityKind.DRUG_STRENGTH: (
        _unit("mg/mL", 1.0),
        _unit("%", MG_PER_ML_PER_PERCENT, "%w/v", "percent"),
        _unit("g/L", 1.0),
    ),
    QuantityKind.IODINE_CONCENTRATION: (
        _unit("mgI/mL", 1.0, "mgiodine/ml"),
        _unit("gI/L", 1.0, "giodine/l"),
        _unit("gI/mL", 1000.0),
    ),
    QuantityKind.BLOOD_CELLS: (
        _unit("10^9/L", 1.0, "x10^9/l", "10e9/l", "10*9/l", "giga/l", "/nl"),
        _unit("10^3/uL", 1.0, "x10^3/ul", "k/ul", "thousand/ul", "10^3/mm3"),
        _unit("/uL", 0.001, "/mm3", "cells/ul"),
    ),
    QuantityKind.SPERM_CONCENTRATION: (
        _unit("10^6/mL", 1.0, "x10^6/ml", "10e6/ml", "10*6/ml", "million/ml", "millions/ml"),
        _unit("/mL", 1e-6),
        _unit("10^9/L", 1.0, "x10^9/l"),
    ),
    QuantityKind.PERCENT: (_unit("%", 1.0, "percent"),),
    QuantityKind.TIME: (
        _unit("s", 1.0, "sec", "secs", "second", "seconds"),
        _unit("ms", 0.001),
        _unit("min", 60.0, "mins", "minute", "minutes"),
        _unit("h", 3600.0, "hr", "hrs", "hour", "hours"),
        _unit("d", 86400.0, "day", "days"),
    ),
    QuantityKind.PRESSURE: (
        _unit("mmHg", 1.0),
        _unit("cmH2O", 0.7356),  # CLINICAL.md section 10
        _unit("kPa", 1000.0 / 133.322),
        _unit("Pa", 1.0 / 133.322),
    ),
    QuantityKind.RATE: (
        _unit("mL/s", 1.0, "cc/s", "ml/sec"),
        _unit("mL/min", 1.0 / 60.0),
    ),
    QuantityKind.ANGLE: (_unit("deg", 1.0, "degree", "degrees", "°"),),
    QuantityKind.DOSE_AREA: tuple(
        _unit(unit.value, dose_area_gy_cm2(1.0, unit), plain_spelling(unit.value.replace(".", "")))
        for unit in (DoseAreaUnit.GY_CM2, *(u for u in DoseAreaUnit if u != DoseAreaUnit.GY_CM2))
    ),
    QuantityKind.AIR_KERMA: (_unit("Gy", 1.0), _unit("mGy", 0.001), _unit("cGy", 0.01)),
    QuantityKind.CALIBRE_FR: (_unit("Fr", 1.0, "f", "french"),),
    QuantityKind.VELOCITY: (
        _unit("cm/s", 1.0, "cm/sec"),
        _unit("mm/s", 0.1, "mm/sec"),
        _unit("m/s", 100.0, "m/sec"),
    ),
    QuantityKind.HAEMOGLOBIN: (
        _unit("g/L", 1.0),
        _unit("g/dL", 10.0),
        _unit("mmol/L", 16.114),  # per iron, molar mass of one chain with its haem 16114 g/mol
    ),
    QuantityKind.MONTHS: (
        _unit("months", 1.0, "month"),
        _unit("years", 12.0, "year"),
    ),
    QuantityKind.HEART_RATE: (_unit("/min", 1.0, "bpm", "beats/min", "1/min"),),
}


def unit_of(kind: QuantityKind, spelled: str) -> Unit | None:
    """The kind's unit that is spelled so, or None."""
    plain = plain_spelling(spelled)
    for unit in UNITS[kind]:
        if plain in {plain_spelling(unit.written), *unit.spellings}:
            return unit
    return None


def written_units(kind: QuantityKind) -> tuple[str, ...]:
    """How the kind's units are written, the first one first."""
    return tuple(unit.written for unit in UNITS[kind])
