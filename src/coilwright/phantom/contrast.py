"""Contrast: when it reaches each place, how strong it is there, how it absorbs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from coilwright.phantom.course import Course
from coilwright.phantom.geometry import Floats
from coilwright.phantom.vein import Vein, VeinKind
from coilwright.veins import OwnEnd

# Mass attenuation of iodine near 50 keV, 12.3 cm2/g (from memory, after the photon tables of
# Hubbell and Seltzer, NISTIR 5632, 1995); one energy stands for the whole beam, so no hardening.
IODINE_CM2_PER_G = 12.3
_LUMEN_LEAD_S = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Injection:
    """One injection through the catheter.

    Contrast leaves the tip at ``start_s`` and its front runs down the trunk, slower up to the
    ostium, and on into what opens from it. At any place it rises smoothly over ``rise_s``.
    After ``stop_s`` (null: none within the run) it washes out over ``washout_s``.
    ``streaming`` is how uneven the contrast lies across the vein, 0 for even.
    """

    start_s: float
    vein_mg_i_per_ml: float
    lumen_mg_i_per_ml: float
    down_mm_per_s: float
    up_mm_per_s: float
    rise_s: float
    stop_s: float | None = None
    washout_s: float = 3.0
    streaming: float = 0.0
    iodine_cm2_per_g: float = IODINE_CM2_PER_G

    @property
    def vein_per_mm(self) -> float:
        """Linear attenuation of filled vein above that of blood."""
        return attenuation_per_mm(self.vein_mg_i_per_ml, self.iodine_cm2_per_g)

    @property
    def lumen_per_mm(self) -> float:
        """Linear attenuation of undiluted contrast inside the catheter."""
        return attenuation_per_mm(self.lumen_mg_i_per_ml, self.iodine_cm2_per_g)

    def filling(self, time_s: float, arrival_s: Floats) -> Floats:
        """Share (0 to 1) of the plateau at a time, where the front came at ``arrival_s``."""
        rise = np.clip((time_s - arrival_s) / self.rise_s, 0.0, 1.0)
        share = rise * rise * (3.0 - 2.0 * rise)
        if self.stop_s is None:
            return share
        late_s = np.maximum(time_s - arrival_s - (self.stop_s - self.start_s), 0.0)
        return share * np.exp(-late_s / self.washout_s)

    @property
    def first_trace_s(self) -> float:
        """When the catheter's lumen begins to fill."""
        return self.start_s - _LUMEN_LEAD_S

    def lumen_filling(self, time_s: float) -> float:
        """Share of undiluted contrast in the catheter; it fills just before the tip gives."""
        return float(np.clip((time_s - self.first_trace_s) / _LUMEN_LEAD_S, 0.0, 1.0))


def attenuation_per_mm(mg_i_per_ml: float, iodine_cm2_per_g: float = IODINE_CM2_PER_G) -> float:
    """Linear attenuation of iodine at a concentration.

    Examples
    --------
    By hand: 100 mg/mL = 0.1 g/cm3; 12.3 cm2/g * 0.1 g/cm3 = 1.23 /cm.

    >>> round(attenuation_per_mm(100.0, 12.3), 6)
    0.123
    """
    return mg_i_per_ml / 1000.0 * iodine_cm2_per_g / 10.0


def arrivals_s(
    veins: Sequence[Vein], courses: Mapping[str, Course], injection: Injection, tip_mm: float
) -> dict[str, Floats]:
    """When the front reaches each sample of each vein, by way along the vessels over speed.

    ``tip_mm`` is the catheter tip's place along the trunk. Parents stand before their branches.
    """
    arrival: dict[str, Floats] = {}
    for vein in veins:
        course = courses[vein.id]
        if vein.kind is VeinKind.TRUNK:
            below_mm = course.arc_mm - tip_mm
            speed = np.where(below_mm >= 0, injection.down_mm_per_s, injection.up_mm_per_s)
            arrival[vein.id] = injection.start_s + np.abs(below_mm) / speed
        else:
            arrival[vein.id] = _branch_arrival_s(vein, course, courses, arrival, injection)
    return arrival


def _branch_arrival_s(
    vein: Vein,
    course: Course,
    courses: Mapping[str, Course],
    arrival: Mapping[str, Floats],
    injection: Injection,
) -> Floats:
    """The earliest of the ways in, one by each join."""
    ways = []
    for join in vein.joins:
        at_join_s = np.interp(join.at_mm, courses[join.vessel].arc_mm, arrival[join.vessel])
        own_mm = (
            course.arc_mm if join.own_end is OwnEnd.START else course.arc_mm[-1] - course.arc_mm
        )
        ways.append(at_join_s + own_mm / injection.down_mm_per_s)
    if vein.enters_after_s is not None:
        late_s = injection.start_s + vein.enters_after_s
        ways.append(late_s + course.arc_mm / injection.down_mm_per_s)
    if not ways:
        raise ValueError(f"vein {vein.id}: contrast has no way in")
    return np.asarray(np.min(ways, axis=0), dtype=np.float64)
