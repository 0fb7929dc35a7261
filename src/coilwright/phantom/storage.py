"""How counted quanta become stored pixel values: LIN, LOG or DISP."""

from dataclasses import dataclass
from enum import StrEnum

import cv2
import numpy as np
from numpy.typing import NDArray

from coilwright.phantom.geometry import Floats

# Room of a LOG picture, in natural-log units below and above the median of the open field.
_LOG_BELOW, _LOG_ABOVE = 4.0, 2.0


class Relationship(StrEnum):
    """Pixel Intensity Relationship (0028,1040), PS3.3 C.8.7.1.1.2."""

    LIN = "LIN"
    LOG = "LOG"
    DISP = "DISP"


class Photometric(StrEnum):
    """Photometric Interpretation (0028,0004) of a grey picture.

    PS3.3 C.8.7.1 allows MONOCHROME2 alone for XA; files with the other one are met all the same.
    """

    MONOCHROME1 = "MONOCHROME1"
    MONOCHROME2 = "MONOCHROME2"


@dataclass(frozen=True, slots=True, kw_only=True)
class Storage:
    """How pixels are stored.

    ``sign`` is Pixel Intensity Relationship Sign: +1 where more beam gives a higher value.
    ``median_share`` is where the open field's median lands on the LIN scale.
    """

    relationship: Relationship
    bits_stored: int
    sign: int = 1
    photometric: Photometric = Photometric.MONOCHROME2
    median_share: float = 0.3
    window_width: float = 1.8
    edge_gain: float = 0.4

    def __post_init__(self) -> None:
        # PS3.3 C.8.7.1.1.5 allows 8, 10, 12 and 16 for XA.
        if self.bits_stored not in (8, 10, 12, 16):
            raise ValueError(f"Bits Stored must be 8, 10, 12 or 16, not {self.bits_stored}")
        if self.sign not in (-1, 1):
            raise ValueError(f"the sign is +1 or -1, not {self.sign}")
        if self.relationship is Relationship.LIN and self.sign < 0:
            raise ValueError("LIN is proportional to the beam: its sign is +1")

    @property
    def white(self) -> int:
        """The highest stored value."""
        return int(2**self.bits_stored - 1)

    def stored(self, quanta: Floats, median_quanta: float) -> NDArray[np.uint16]:
        """Stored values (R, C), clipped to the bits there are."""
        relative = quanta / median_quanta
        match self.relationship:
            case Relationship.LIN:
                share = relative * self.median_share
            case Relationship.LOG:
                share = (np.log(np.maximum(relative, 1e-4)) + _LOG_BELOW) / (
                    _LOG_BELOW + _LOG_ABOVE
                )
            case Relationship.DISP:
                share = self._displayed(relative)
        share = share if self.sign > 0 else 1.0 - share
        return np.clip(np.rint(share * self.white), 0, self.white).astype(np.uint16)

    def log_intensity(self, stored: NDArray[np.integer]) -> Floats:
        """Natural logarithm of the beam behind LOG values, relative to the field's median."""
        share = stored / self.white
        share = share if self.sign > 0 else 1.0 - share
        return np.asarray(share * (_LOG_BELOW + _LOG_ABOVE) - _LOG_BELOW)

    def _displayed(self, relative: Floats) -> Floats:
        """Logarithm through an S-shaped window, with mild edge enhancement."""
        logarithm = np.log(np.maximum(relative, 1e-4))
        smooth = cv2.GaussianBlur(logarithm, (0, 0), 2.0)
        sharp = logarithm + self.edge_gain * (logarithm - smooth)
        return np.asarray(1.0 / (1.0 + np.exp(-4.0 * sharp / self.window_width)))
