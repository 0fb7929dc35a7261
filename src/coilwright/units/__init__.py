"""Conversions of the trade; every function names both units."""

from coilwright.units.creatinine import creatinine_mg_per_dl, creatinine_umol_per_l
from coilwright.units.dose_area import DoseAreaUnit, dose_area_gy_cm2, dose_area_in
from coilwright.units.french import fr_to_mm, mm_to_fr
from coilwright.units.inch import inch_to_mm, mm_to_inch
from coilwright.units.quantity import Quantity, QuantityProblem, parse_quantity
from coilwright.units.solution import mg_per_ml_to_percent, percent_to_mg_per_ml
from coilwright.units.unit_table import QuantityKind, written_units

__all__ = [
    "DoseAreaUnit",
    "Quantity",
    "QuantityKind",
    "QuantityProblem",
    "creatinine_mg_per_dl",
    "creatinine_umol_per_l",
    "dose_area_gy_cm2",
    "dose_area_in",
    "fr_to_mm",
    "inch_to_mm",
    "mg_per_ml_to_percent",
    "mm_to_fr",
    "mm_to_inch",
    "parse_quantity",
    "percent_to_mg_per_ml",
    "written_units",
]
