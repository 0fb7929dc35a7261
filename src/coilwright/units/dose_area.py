"""Dose-area product (kerma-area product) in the six units that machines print.

The same number means doses a factor of a million apart, so no function here takes a number
without its unit, and the unit is an ``Enum``, never a default.
"""

from enum import StrEnum


class DoseAreaUnit(StrEnum):
    """A unit of dose-area product, as it is written."""

    GY_M2 = "Gy.m2"
    GY_CM2 = "Gy.cm2"
    DGY_CM2 = "dGy.cm2"
    CGY_CM2 = "cGy.cm2"
    MGY_CM2 = "mGy.cm2"
    UGY_M2 = "uGy.m2"


# SI prefixes, and 1 m2 = 10 000 cm2.
_GY_CM2_PER_UNIT = {
    DoseAreaUnit.GY_M2: 1e4,
    DoseAreaUnit.GY_CM2: 1.0,
    DoseAreaUnit.DGY_CM2: 0.1,
    DoseAreaUnit.CGY_CM2: 0.01,
    DoseAreaUnit.MGY_CM2: 0.001,
    DoseAreaUnit.UGY_M2: 0.01,
}


def dose_area_gy_cm2(value: float, unit: DoseAreaUnit) -> float:
    """Dose-area product in Gy.cm2 of a value in a stated unit.

    Raises
    ------
    TypeError
        The unit is not a ``DoseAreaUnit``: a bare text is how units are mixed up.

    References
    ----------
    DICOM PS3.3: Image and Fluoroscopy Area Dose Product (0018,115E) is in dGy.cm2; PS3.16
    TID 10002: Dose Area Product Total is in Gy.m2.

    Examples
    --------
    >>> round(dose_area_gy_cm2(89.6, DoseAreaUnit.CGY_CM2), 3)
    0.896
    """
    return value * _factor(unit)


def dose_area_in(value_gy_cm2: float, unit: DoseAreaUnit) -> float:
    """Dose-area product in a stated unit of a value in Gy.cm2.

    Examples
    --------
    >>> round(dose_area_in(106.239, DoseAreaUnit.MGY_CM2))
    106239
    """
    return value_gy_cm2 / _factor(unit)


def _factor(unit: DoseAreaUnit) -> float:
    if not isinstance(unit, DoseAreaUnit):
        raise TypeError(f"a dose-area unit is a DoseAreaUnit, not {unit!r}")
    return _GY_CM2_PER_UNIT[unit]
