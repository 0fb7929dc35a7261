"""The angle between aorta and superior mesenteric artery, where the renal vein may be caught.

Published cut-offs run from 38 to 45 degrees: below the lower one it counts as a sign, up to the
higher one it is borderline.
"""

from dataclasses import dataclass

from coilwright.advice import Urgency
from coilwright.assessment.facts import Facts
from coilwright.protocol import Limit, Protocol


@dataclass(frozen=True, slots=True, kw_only=True)
class AortomesentericAngle:
    """The recorded angle (None where there is none) and the two cut-offs."""

    angle_deg: float | None
    narrow_below: Limit
    borderline_below: Limit

    @property
    def is_sign(self) -> bool:
        """Whether it is below the lower cut-off."""
        return self.angle_deg is not None and self.angle_deg < self.narrow_below.value

    @property
    def basis(self) -> tuple[Limit, ...]:
        """The cut-offs, where there is an angle to hold against them."""
        return () if self.angle_deg is None else (self.narrow_below, self.borderline_below)

    @property
    def words(self) -> tuple[Urgency, str] | None:
        """What the angle says by itself; a sign is spoken of with the other signs."""
        if self.angle_deg is None:
            return None
        named = f"Aortomesenteric angle {self.angle_deg:g} deg"
        lower, upper = self.narrow_below.value, self.borderline_below.value
        if self.is_sign:
            return Urgency.CAUTION, f"{named}, below {lower:g}: suggests compression."
        if self.angle_deg < upper:
            text = f"{named}: borderline, as sources disagree ({lower:g} to {upper:g})."
            return Urgency.CAUTION, text
        return Urgency.INFO, f"{named}, not below {upper:g}."


def aortomesenteric_angle(facts: Facts, protocol: Protocol) -> AortomesentericAngle:
    """The angle of the case with the site's cut-offs."""
    return AortomesentericAngle(
        angle_deg=facts.conditions.renal_vein.aortomesenteric_angle_deg,
        narrow_below=protocol.limit("aortomesenteric-angle-narrow-below"),
        borderline_below=protocol.limit("aortomesenteric-angle-borderline-below"),
    )
