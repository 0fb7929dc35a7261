"""What the header says of the scale: detector spacing and the cone's distances."""

from dataclasses import dataclass

from pydicom.dataset import Dataset

from coilwright.venogram.functional_groups import numbers, positive, stated


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

        Detector spacing alone is never a scale at the vein.
        """
        if self.imager_spacing_mm is None or self.magnification is None:
            return None
        row_mm, column_mm = self.imager_spacing_mm
        return float((row_mm * column_mm) ** 0.5 / self.magnification)


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


def _pair(value: object) -> tuple[float, float] | None:
    match [positive(item) for item in numbers(value)]:
        case [float(row_mm), float(column_mm)]:
            return row_mm, column_mm
    return None
