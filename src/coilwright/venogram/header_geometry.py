"""What the header says of the scale: detector spacing and the cone's distances."""

from dataclasses import dataclass
from pathlib import Path

from pydicom.dataset import Dataset

from coilwright.venogram.dicom_file import problem
from coilwright.venogram.functional_groups import numbers, positive, stated

# Rows and columns that differ by less leave lengths wrong by half of it at most (judgement).
SQUARE_WITHIN = 0.005
# Pixels of X-ray runs measure 0.05 to 1 mm; a header beyond these is a slip (judgement).
POSSIBLE_MM = (0.02, 2.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class HeaderGeometry:
    """Detector spacing and magnification as stated, each null where absent.

    ``imager_spacing_mm`` is (between rows, between columns) at the detector.
    """

    imager_spacing_mm: tuple[float, float] | None
    source_to_detector_mm: float | None
    source_to_patient_mm: float | None
    stated_magnification: float | None
    calibrated_spacing_mm: tuple[float, float] | None
    calibration_type: str | None

    @property
    def magnification(self) -> float | None:
        """Source-detector over source-patient distance, else the stated factor.

        References
        ----------
        Estimated Radiographic Magnification Factor (0018,1114): ratio of SID over SOD,
        PS3.3 C.8.7.5.
        """
        stated = self.stated_magnification
        if self.source_to_detector_mm and self.source_to_patient_mm:
            stated = self.source_to_detector_mm / self.source_to_patient_mm
        # The detector lies behind the patient: a smaller ratio is a mistake in the header.
        return stated if stated is not None and stated >= 1.0 else None

    @property
    def patient_spacing_mm(self) -> float | None:
        """Millimetres per pixel in the plane of the isocentre, null without both parts.

        Detector spacing alone is never a scale at the vein, nor is a spacing that no X-ray run has.
        """
        if self.imager_spacing_mm is None or self.magnification is None:
            return None
        row_mm, column_mm = self.imager_spacing_mm
        spacing_mm = float((row_mm * column_mm) ** 0.5 / self.magnification)
        low, high = POSSIBLE_MM
        return spacing_mm if low <= spacing_mm <= high else None


def header_geometry(dataset: Dataset) -> HeaderGeometry:
    """Geometry of a run from its header; classic and enhanced objects.

    References
    ----------
    Enhanced XA: X-Ray Geometry Sequence (0018,9476), PS3.3 C.8.19.6.14; Imager Pixel Spacing in
    the Frame Pixel Data Properties Sequence (0028,9443), PS3.3 C.8.19.6.4.
    """
    calibration_type = stated(dataset, "PixelSpacingCalibrationType")
    return HeaderGeometry(
        imager_spacing_mm=_pair(stated(dataset, "ImagerPixelSpacing")),
        source_to_detector_mm=positive(stated(dataset, "DistanceSourceToDetector")),
        source_to_patient_mm=(
            positive(stated(dataset, "DistanceSourceToPatient"))
            or positive(stated(dataset, "DistanceSourceToIsocenter"))
        ),
        stated_magnification=positive(stated(dataset, "EstimatedRadiographicMagnificationFactor")),
        calibrated_spacing_mm=_pair(stated(dataset, "PixelSpacing")),
        calibration_type=None if calibration_type is None else str(calibration_type),
    )


def require_square_pixels(dataset: Dataset, file: Path) -> None:
    """Refuse pixels that are higher than wide, or wider than high.

    Every point of a map lies in the grid of the stored frames, and people mark points there: a run
    made square on reading would have another grid than the one they see.

    References
    ----------
    Imager Pixel Spacing (0018,1164) and Pixel Spacing (0028,0030), row spacing first: PS3.3
    10.7.1.3. Pixel Aspect Ratio (0028,0034), vertical over horizontal size: PS3.3 C.7.6.3.1.7.
    """
    for keyword in ("ImagerPixelSpacing", "PixelSpacing", "PixelAspectRatio"):
        pair = _pair(stated(dataset, keyword))
        if pair is None or abs(pair[0] / pair[1] - 1.0) <= SQUARE_WITHIN:
            continue
        found = f"pixels are not square ({pair[0]:g} high to {pair[1]:g} wide)"
        raise problem(file, keyword, found, "export the run with square pixels")


def _pair(value: object) -> tuple[float, float] | None:
    match [positive(item) for item in numbers(value)]:
        case [float(row_mm), float(column_mm)]:
            return row_mm, column_mm
    return None
