"""One vein of a scene: where it runs, how wide it is, where it joins."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.interpolate import PchipInterpolator

from coilwright.phantom.course import Course, Point3, course_through, smooth_points_mm
from coilwright.phantom.geometry import Floats
from coilwright.veins import OwnEnd

_FADE_FROM = 0.6
# The cusps of a valve close the vein over this share of its length.
_VALVE_SHARE = 0.01


class VeinKind(StrEnum):
    """What a vein is in the scene."""

    TRUNK = "trunk"
    SIDE_VEIN = "side-vein"
    DUPLICATE = "duplicate"
    TANGLE = "tangle"
    CROSSING = "crossing"
    RENAL_STUB = "renal-stub"


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueJoin:
    """One end of a vein opens into ``vessel`` at ``at_mm`` along that vessel's own centreline."""

    own_end: OwnEnd
    vessel: str
    at_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Spasm:
    """A focal narrowing: the calibre falls by ``share`` at ``centre_mm`` and recovers smoothly."""

    centre_mm: float
    half_length_mm: float
    share: float

    def __post_init__(self) -> None:
        if not (0 < self.share < 1 and self.half_length_mm > 0):
            raise ValueError("a spasm narrows by a share between 0 and 1 over a positive length")

    def factor(self, arc_mm: Floats) -> Floats:
        """Share of the relaxed calibre that is left, a raised cosine."""
        away = np.clip(np.abs(arc_mm - self.centre_mm) / self.half_length_mm, 0.0, 1.0)
        return 1.0 - self.share * 0.5 * (1.0 + np.cos(np.pi * away))


@dataclass(frozen=True, slots=True, kw_only=True)
class Vein:
    """A vein by its knots in space and its relaxed calibre at shares of its length.

    ``strength`` is its contrast relative to the trunk's; it falls towards ``end_strength`` at
    the far end. ``enters_after_s`` is for a vein that joins nothing: how long after the start of
    the injection contrast reaches its first knot by ways outside the picture. Above a competent
    valve nothing fills: ``empty_share`` of the length, from the first knot.
    """

    id: str
    kind: VeinKind
    knots_mm: tuple[Point3, ...]
    relaxed_diameters_mm: tuple[float, ...]
    joins: tuple[TrueJoin, ...] = ()
    spasm: Spasm | None = None
    strength: float = 1.0
    end_strength: float = 1.0
    enters_after_s: float | None = None
    empty_share: float = 0.0

    def course(self) -> Course:
        """The sampled centreline with the true radius."""
        relaxed = self._relaxed_course()
        if self.spasm is None:
            return relaxed
        radius_mm = relaxed.radius_mm * self.spasm.factor(relaxed.arc_mm)
        return course_through(relaxed.points_mm, radius_mm)

    def strength_along(self, share: Floats) -> Floats:
        """Contrast relative to the trunk's at shares of the length; it fades in the last part."""
        fade = np.clip((share - _FADE_FROM) / (1.0 - _FADE_FROM), 0.0, 1.0)
        filled = np.clip((share - self.empty_share) / _VALVE_SHARE, 0.0, 1.0)
        below_valve = filled if self.empty_share > 0.0 else 1.0
        return self.strength * (1.0 - fade * (1.0 - self.end_strength)) * below_valve

    def relaxed_diameter_at(self, arc_mm: float) -> float:
        """The calibre without the spasm."""
        return 2.0 * self._relaxed_course().radius_at(arc_mm)

    def _relaxed_course(self) -> Course:
        points_mm = smooth_points_mm(np.asarray(self.knots_mm, dtype=float))
        share = np.linspace(0.0, 1.0, len(self.relaxed_diameters_mm))
        calibre = PchipInterpolator(share, self.relaxed_diameters_mm)
        radius_mm = calibre(np.linspace(0.0, 1.0, len(points_mm))) / 2.0
        return course_through(points_mm, radius_mm)
