"""The scale of a run: from the catheter, from the operator, or from the header's geometry."""

from dataclasses import dataclass, replace

import numpy as np

from coilwright.units import fr_to_mm
from coilwright.veins import Calibration, CalibrationMethod, Notice
from coilwright.venogram.catheter_width import CatheterWidth
from coilwright.venogram.header_geometry import HeaderGeometry

# The vein may lie this far (one standard deviation) in front of or behind the isocentre, to which
# the header's distances refer: 40 mm at 750 mm is 5 %. Common practice, no source.
HEADER_RELATIVE_SD = 0.05
# A display curve and edge enhancement move the catheter's edges by an unknown part of a pixel.
DISPLAY_RELATIVE_SD = 0.06
RULER_END_SD_PX = 1.0
GIVEN_RELATIVE_SD = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleChoice:
    """What the operator chose; at most one of ``given`` and the ruler, else the catheter.

    ``catheter_lumen_mm`` is the lumen on the catheter's label, where it is known.
    """

    catheter_fr: float | None = None
    catheter_lumen_mm: float | None = None
    mm_per_pixel: float | None = None
    ruler_px: tuple[float, float, float, float] | None = None
    ruler_mm: float | None = None


def operator_scale(choice: ScaleChoice) -> Calibration | None:
    """The scale that the operator gave, by number or by ruler; None if neither."""
    if choice.mm_per_pixel is not None:
        return Calibration(
            mm_per_pixel=choice.mm_per_pixel,
            relative_sd=GIVEN_RELATIVE_SD,
            method=CalibrationMethod.GIVEN,
        )
    if choice.ruler_px is not None and choice.ruler_mm is not None:
        x0, y0, x1, y1 = choice.ruler_px
        length_px = float(np.hypot(x1 - x0, y1 - y0))
        return Calibration(
            mm_per_pixel=choice.ruler_mm / length_px,
            relative_sd=float(np.sqrt(2.0) * RULER_END_SD_PX / length_px),
            method=CalibrationMethod.RULER,
        )
    return None


def header_scale(geometry: HeaderGeometry) -> Calibration | None:
    """The scale at the isocentre by the header, with the vein's unknown depth as uncertainty."""
    spacing = geometry.patient_spacing_mm
    if spacing is None:
        return None
    return Calibration(
        mm_per_pixel=spacing,
        relative_sd=HEADER_RELATIVE_SD,
        method=CalibrationMethod.HEADER_GEOMETRY,
        warnings=(
            Notice(
                code="depth-unknown",
                text=(
                    "scale taken from the header's geometry at the isocentre; the vein may lie "
                    "several centimetres before or behind it"
                ),
            ),
        ),
    )


def catheter_scale(
    width: CatheterWidth,
    catheter_fr: float,
    geometry: HeaderGeometry,
    *,
    densitometric: bool,
    lumen_mm: float | None = None,
) -> Calibration:
    """The scale by the catheter, checked against the header where it has a geometry.

    ``lumen_mm`` is the lumen on its label, where the width was fitted with it.
    """
    calibration = Calibration(
        mm_per_pixel=fr_to_mm(catheter_fr) / (2.0 * width.radius_px),
        relative_sd=float(
            np.hypot(width.relative_sd, 0.0 if densitometric else DISPLAY_RELATIVE_SD)
        ),
        method=CalibrationMethod.CATHETER,
        catheter_fr=catheter_fr,
        catheter_lumen_mm=lumen_mm,
    )
    header = header_scale(geometry)
    if header is None:
        return calibration
    return replace(calibration, warnings=_disagreement(calibration, header))


def _disagreement(calibration: Calibration, header: Calibration) -> tuple[Notice, ...]:
    ratio = calibration.mm_per_pixel / header.mm_per_pixel
    allowed = 2.0 * float(np.hypot(calibration.relative_sd, header.relative_sd))
    if abs(np.log(ratio)) <= allowed:
        return ()
    fitting_fr = (calibration.catheter_fr or 0.0) / ratio
    text = (
        f"scale by the {calibration.catheter_fr:g} F catheter ({calibration.mm_per_pixel:.4f} "
        f"mm per pixel) and by the header's geometry ({header.mm_per_pixel:.4f}) differ by "
        f"{abs(ratio - 1):.0%}, more than their uncertainty ({allowed:.0%}); the header would fit "
        f"a {fitting_fr:.1f} F catheter: check the French size"
    )
    return (Notice(code="catheter-header-disagree", text=text),)


def header_instead(header: Calibration, catheter_fr: float, *, found: bool) -> Calibration:
    """The header's scale, saying why the catheter of the stated size does not give it."""
    if found:
        code = "catheter-unsure"
        text = f"the {catheter_fr:g} F catheter shows too poorly: header geometry used, being surer"
    else:
        code = "catheter-not-found"
        text = (
            f"no line like a {catheter_fr:g} F catheter leads into the vein: header geometry used"
        )
    notice = Notice(code=code, text=text)
    return replace(header, warnings=(notice, *header.warnings), catheter_fr=catheter_fr)
