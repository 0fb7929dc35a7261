"""What the header says of the scale: detector spacing and the cone's distances."""

from dataclasses import dataclass

from pydicom.dataset import Dataset


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
        if self.source_to_detector_mm and self.source_to_patient_mm:
            return self.source_to_detector_mm / self.source_to_patient_mm
        return self.stated_magnification

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
    """Geometry of a run from its header; classic and enhanced objects."""
    return HeaderGeometry(
        imager_spacing_mm=_pair(_find(dataset, "ImagerPixelSpacing")),
        source_to_detector_mm=_number(_find(dataset, "DistanceSourceToDetector")),
        source_to_patient_mm=_number(
            _find(dataset, "DistanceSourceToPatient") or _find(dataset, "DistanceSourceToIsocenter")
        ),
        stated_magnification=_number(_find(dataset, "EstimatedRadiographicMagnificationFactor")),
        calibrated_spacing_mm=_pair(_find(dataset, "PixelSpacing")),
        calibration_type=_text(_find(dataset, "PixelSpacingCalibrationType")),
    )


def _find(dataset: Dataset, keyword: str) -> object | None:
    """The attribute itself, or the first one in the shared or per-frame functional groups."""
    if dataset.get(keyword) not in (None, ""):
        value: object = dataset.get(keyword)
        return value
    for groups in ("SharedFunctionalGroupsSequence", "PerFrameFunctionalGroupsSequence"):
        for group in list(dataset.get(groups) or [])[:1]:
            for element in group:
                if element.VR == "SQ" and element.value:
                    value = element.value[0].get(keyword)
                    if value not in (None, ""):
                        return value
    return None


def _number(value: object) -> float | None:
    try:
        number = float(str(value))
    except ValueError:
        return None
    return number if number > 0 else None


def _pair(value: object) -> tuple[float, float] | None:
    if value is None or isinstance(value, str | int | float):
        return None
    numbers = [_number(item) for item in value]  # type: ignore[attr-defined]  # DICOM DS 2
    if len(numbers) != 2 or numbers[0] is None or numbers[1] is None:
        return None
    return numbers[0], numbers[1]


def _text(value: object) -> str | None:
    return None if value is None else str(value)
