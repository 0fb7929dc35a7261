"""A calibre that changes along a vein faster than a vein does: the centreline may have strayed."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import hypot

from coilwright.protocol import Protocol
from coilwright.veins import Vessel

# Over this length of vein, and this far beyond a zone's ends: about the nest of one coil.
WITHIN_MM = 5.0
# A change that two fits could show by their own errors alone is none (two-sided 95 %, rounded).
_COVER = 2.0

_Sample = tuple[float, float, float]
"""Arc, diameter and its standard deviation, in mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibreJump:
    """The greatest change of calibre within ``WITHIN_MM`` of vein in or beside a zone."""

    from_mm: float
    to_mm: float
    before_mm: float
    after_mm: float

    @property
    def change_mm(self) -> float:
        """How much wider or narrower, without sign."""
        return abs(self.after_mm - self.before_mm)


def calibre_jump(
    vessel: Vessel, from_mm: float, to_mm: float, protocol: Protocol
) -> CalibreJump | None:
    """The greatest jump in or beside a zone; None where none reaches the protocol's limit."""
    known = [
        (arc, diameter, sd)
        for arc, diameter, sd in zip(
            vessel.arc_mm, vessel.diameter_mm, vessel.diameter_sd_mm, strict=True
        )
        if diameter is not None
        and sd is not None
        and from_mm - WITHIN_MM <= arc <= to_mm + WITHIN_MM
    ]
    least_mm = protocol.limit("calibre-jump-min").value
    jumps = [
        CalibreJump(from_mm=one[0], to_mm=two[0], before_mm=one[1], after_mm=two[1])
        for one, two in _near_pairs(known)
        if abs(two[1] - one[1]) >= max(least_mm, _COVER * hypot(one[2], two[2]))
    ]
    return max(jumps, key=lambda jump: jump.change_mm, default=None)


def _near_pairs(samples: list[_Sample]) -> Iterator[tuple[_Sample, _Sample]]:
    """Every two samples no farther apart than ``WITHIN_MM``, in the order of their arcs."""
    for i, one in enumerate(samples):
        for two in samples[i + 1 :]:
            if two[0] - one[0] > WITHIN_MM:
                break
            yield one, two
