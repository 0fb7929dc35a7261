"""What drives blood down the vein: the column above the plexus, and the pressures at both ends.

Poiseuille's law and the Reynolds number turn conductances and that pressure into flow. A flow is
an inner quantity: in real vessels a flow from geometry is not to be trusted (CLINICAL section 10,
"Hemodynamic principles"), so it serves to see whether the laminar model holds and is never shown.
"""

import math
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from coilwright.protocol import Protocol

Array = npt.NDArray[np.float64]
Number = TypeVar("Number", float, Array)

STANDARD_GRAVITY_M_PER_S2 = 9.80665  # 3rd CGPM, 1901
PA_PER_MMHG = 133.322387415  # ISO 80000-4:2006, conversions

PRESSURE_LIMITS = ("blood-density", "renal-vein-pressure", "plexus-pressure")
BLOOD_LIMITS = ("blood-viscosity", "blood-density", "laminar-reynolds-max")


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """The blood between inflow and outflow, along the body, and how far the table or body is up.

    ``tilt_deg`` is 0 lying flat and 90 standing. ``projected`` where the length was read from a
    picture: then it is a lower bound.

    Raises
    ------
    ValueError
        A length that is not positive, a negative standard deviation, a tilt outside 0 to 90.
    """

    length_mm: float
    length_sd_mm: float
    tilt_deg: float
    projected: bool

    def __post_init__(self) -> None:
        if not (math.isfinite(self.length_mm) and self.length_mm > 0.0):
            raise ValueError(f"the column's length must be above 0, got {self.length_mm}")
        if not (math.isfinite(self.length_sd_mm) and self.length_sd_mm >= 0.0):
            raise ValueError("the standard deviation of the column must be 0 or more")
        if not 0.0 <= self.tilt_deg <= 90.0:
            raise ValueError(f"the tilt must be 0 (flat) to 90 (standing), got {self.tilt_deg}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Blood:
    """Blood as a fluid of one viscosity."""

    viscosity_mpa_s: float
    density_kg_per_m3: float


def blood_of(protocol: Protocol) -> Blood:
    """Blood by the department's limits; 1 g/L is 1 kg/m3."""
    return Blood(
        viscosity_mpa_s=protocol.limit("blood-viscosity").value,
        density_kg_per_m3=protocol.limit("blood-density").value,
    )


def hydrostatic_mmhg(height_mm: Number, density_kg_per_m3: float) -> Number:
    """Pressure at the foot of a column of blood, density times gravity times height.

    Examples
    --------
    >>> round(hydrostatic_mmhg(10.0, 1060.0), 4)
    0.7797
    """
    return height_mm * (1e-3 * density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2 / PA_PER_MMHG)


def driving_mmhg(column: Column, protocol: Protocol, standard_normals: Array) -> Array:
    """Pressure that drives blood from inflow to outflow, one per draw; below 0 it runs upwards.

    The column's length is normal with its standard deviation, and never below 0.
    """
    length_mm = column.length_mm + column.length_sd_mm * standard_normals
    height_mm: Array = np.maximum(length_mm, 0.0) * math.sin(math.radians(column.tilt_deg))
    head_mmhg = hydrostatic_mmhg(height_mm, protocol.limit("blood-density").value)
    renal_mmhg = protocol.limit("renal-vein-pressure").value
    return renal_mmhg + head_mmhg - protocol.limit("plexus-pressure").value


def flow_ml_per_s(conductance_mm3: Number, driving_mmhg: Number, blood: Blood) -> Number:
    """Laminar flow; ``conductance_mm3`` is diameter^4 / length as the whole conducts it.

    Q = dP pi r^4 / (8 viscosity L) (CLINICAL section 10), with r^4 = d^4 / 16.

    Examples
    --------
    >>> thin = Blood(viscosity_mpa_s=3.5, density_kg_per_m3=1060.0)
    >>> round(flow_ml_per_s(5.0**4 / 300.0, 1.0, thin), 3)
    1.948
    """
    # mm3 to m3, mPa s to Pa s, m3 to mL: 1e-9 * 1e3 * 1e6.
    per_mm3_mmhg = math.pi * PA_PER_MMHG / (128.0 * blood.viscosity_mpa_s)
    return conductance_mm3 * driving_mmhg * per_mm3_mmhg


def reynolds(flow_ml_per_s: Number, diameter_mm: Number, blood: Blood) -> Number:
    """Reynolds number 2 r density v / viscosity, with v the mean speed over the lumen."""
    # 4 density Q / (pi viscosity d): mL to m3, mPa s to Pa s, mm to m cancel.
    of_unit_flow = 4.0 * blood.density_kg_per_m3 / (math.pi * blood.viscosity_mpa_s)
    return flow_ml_per_s / diameter_mm * of_unit_flow
