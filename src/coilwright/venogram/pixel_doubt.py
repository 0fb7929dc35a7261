"""What lossy pixels and fluoroscopy take from the sureness of every width.

A fit sees the scatter of the pixels that it is given. It does not see that an encoder has moved an
edge, or that fluoroscopy is averaged over frames in which the vein moved.
"""

from dataclasses import dataclass, replace

import numpy as np
from pydicom.dataset import Dataset

from coilwright.units import fr_to_mm
from coilwright.veins import Calibration, CalibrationMethod, VeinMap, Vessel
from coilwright.venogram.header_notices import lossy_ratio, says_fluoroscopy

# Own estimate, no source: two rendered runs through JPEG 2000, whose catheter came out 0.1 px
# wider or narrower at 15 to 1 and 0.25 px at 60 to 1, veins less.
LOSSY_SD_PX, LOSSY_RATIO = 0.12, 15.0
LOSSY_SD_PX_MOST = 0.6
# Own estimate, no source: frames averaged while the vein moves.
FLUOROSCOPY_SD_PX = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class PixelDoubt:
    """One standard deviation in pixels that every measured width has beyond its fit's own."""

    width_sd_px: float = 0.0


NO_DOUBT = PixelDoubt()


def pixel_doubt(dataset: Dataset) -> PixelDoubt:
    """The doubt that a header casts on the widths of its run."""
    sds_px = [FLUOROSCOPY_SD_PX if says_fluoroscopy(dataset) else 0.0]
    ratio = lossy_ratio(dataset)
    if ratio is not None:
        growth = float(np.sqrt(max(ratio / LOSSY_RATIO, 1.0)))
        sds_px.append(min(LOSSY_SD_PX * growth, LOSSY_SD_PX_MOST))
    return PixelDoubt(width_sd_px=float(np.hypot.reduce(sds_px)))


def doubted(calibration: Calibration, doubt: PixelDoubt) -> Calibration:
    """The scale by a catheter whose own width is as much in doubt as a vein's."""
    if calibration.method is not CalibrationMethod.CATHETER or calibration.catheter_fr is None:
        return calibration
    width_px = fr_to_mm(calibration.catheter_fr) / calibration.mm_per_pixel
    relative_sd = float(np.hypot(calibration.relative_sd, doubt.width_sd_px / width_px))
    return replace(calibration, relative_sd=relative_sd)


def with_doubt(vein_map: VeinMap, doubt: PixelDoubt) -> VeinMap:
    """The map with the standard deviation of every calibre widened."""
    if doubt.width_sd_px == 0.0:
        return vein_map
    sd_mm = doubt.width_sd_px * vein_map.calibration.mm_per_pixel
    return replace(vein_map, vessels=tuple(_widened(v, sd_mm) for v in vein_map.vessels))


def _widened(vessel: Vessel, sd_mm: float) -> Vessel:
    return replace(
        vessel,
        diameter_sd_mm=tuple(_wider(sd, sd_mm) for sd in vessel.diameter_sd_mm),
        narrowings=tuple(
            replace(n, relaxed_sd_mm=_wider(n.relaxed_sd_mm, sd_mm)) for n in vessel.narrowings
        ),
    )


def _wider(own_mm: float | None, sd_mm: float) -> float | None:
    return None if own_mm is None else round(float(np.hypot(own_mm, sd_mm)), 4)
