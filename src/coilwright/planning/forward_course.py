"""How a trunk's scale is carried from the depth where it was taken to the vein's own depth.

A point source shows a thing larger by source-detector over source-object distance. So a vein whose
scale was taken elsewhere is truly as wide as it measures, times its own distance from the source
over the distance of what gave the scale. The testicular vein comes forward on its way from the
ostium to the ring. With the tube behind the patient and the detector in front, that is away from
the source: a calibre below the catheter is read too small, never too large, and more so the
further down. By 30 to 60 mm at 750 mm from the source it is 4 to 8 % (practitioner's review, common
practice, no source), taken as growing evenly along the vein and as equally likely anywhere between.

Where any of this is not known, the error may go either way and counts as a wider uncertainty.
"""

import math
from dataclasses import dataclass

from coilwright.planning.trunk_course import project_onto
from coilwright.protocol import Protocol
from coilwright.veins import CalibrationMethod, RunPlace, VeinMap, Vessel, VesselKind

RING = "ostium to internal ring, as marked"
RAMUS = "ostium to the upper edge of the superior pubic ramus; the ring is not marked"
NO_MARKS = "local limit; ostium and ring are not both marked"

SCALED_ELSEWHERE = {
    CalibrationMethod.HEADER_GEOMETRY: (
        "the header's scale holds at the isocentre, and how far the vein is from it is not stated"
    ),
    CalibrationMethod.RULER: "at which depth the ruler lay is not stated",
    CalibrationMethod.GIVEN: "at which depth the given scale holds is not stated",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CarriedScale:
    """A scale taken at the arc ``from_mm`` of a vein that comes forward below it.

    ``low`` and ``high`` are what true calibre exceeds the measured one by, relative, after
    ``reach_mm`` of vein; ``reach_words`` say where that length is from.
    """

    from_mm: float
    reach_mm: float
    reach_words: str
    low: float
    high: float

    def shift(self, at_mm: float) -> float:
        """What to add to a calibre measured at an arc, relative to it; negative above the scale.

        Examples
        --------
        >>> course = CarriedScale(
        ...     from_mm=20.0, reach_mm=200.0, reach_words=RING, low=0.04, high=0.08
        ... )
        >>> round(course.shift(120.0), 6)
        0.03
        """
        return (self.low + self.high) / 2 * self._share(at_mm)

    def relative_sd(self, at_mm: float) -> float:
        """Standard deviation of the shift: that of a uniform distribution, width over root 12."""
        return abs(self.high - self.low) / math.sqrt(12.0) * abs(self._share(at_mm))

    @property
    def text(self) -> str:
        """The assumption in words."""
        return (
            "Scale carried from the catheter's depth: the vein is taken to come forward, towards "
            f"the detector, so that true calibre exceeds the measured by {100 * self.low:g} to "
            f"{100 * self.high:g} % after {self.reach_mm:.0f} mm of vein ({self.reach_words}), "
            "growing evenly below the middle of the catheter's shaft in the vein. Relaxed "
            "calibres carry this, measured ones do not."
        )

    def _share(self, at_mm: float) -> float:
        return min(max((at_mm - self.from_mm) / self.reach_mm, -1.0), 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class UnknownDepth:
    """Why it is not known which way the scale errs at the vein's own depth."""

    why: str

    @property
    def text(self) -> str:
        """The assumption in words."""
        return (
            "The vein comes forward towards the ring, but which way the scale errs by that is not "
            f"known: {self.why}. Depth counts in both directions, with the local limit where the "
            "map states less."
        )


def carried_scale(
    vein_map: VeinMap, vessel: Vessel, protocol: Protocol
) -> CarriedScale | UnknownDepth:
    """How the map's scale is carried along ``vessel``, or why that is not known.

    References
    ----------
    Positioner Primary Angle, zero with the detector in front of the patient's chest, and Positioner
    Secondary Angle: DICOM PS3.3 C.8.7.5 (restated from memory). That the patient lies as the
    header's angles take for granted, on the back over the tube, is common practice, no source.
    """
    why = _scale_elsewhere(vein_map, vessel) or _turned(vein_map, vessel, protocol)
    tip_px = vein_map.catheter.tip_px
    if why or tip_px is None:
        return UnknownDepth(why=why or "the catheter's tip is not on the map")
    mm = vein_map.calibration.mm_per_pixel
    start_mm = _mark_mm(vein_map, vessel, "ostium")
    if start_mm is None:
        start_mm = vessel.arc_mm[0]
    tip_mm = project_onto(vessel, tip_px, mm_per_pixel=mm).arc_mm
    reach_mm, words = _reach(vein_map, vessel, protocol)
    return CarriedScale(
        from_mm=(start_mm + max(tip_mm, start_mm)) / 2,
        reach_mm=reach_mm,
        reach_words=words,
        low=protocol.limit("forward-course-low").value / 100.0,
        high=protocol.limit("forward-course-high").value / 100.0,
    )


def _scale_elsewhere(vein_map: VeinMap, vessel: Vessel) -> str:
    """Why the scale was not taken at a known place of this vein; empty where it was."""
    if why := SCALED_ELSEWHERE.get(vein_map.calibration.method):
        return why
    if vessel.kind is not VesselKind.TRUNK:
        return "the vein is not the main one"
    if vein_map.catheter.tip_px is None:
        return "the catheter's tip is not on the map"
    if vein_map.catheter.in_vessel != vessel.id:
        return "the catheter's tip is not shown to lie in this vein"
    return ""


def _turned(vein_map: VeinMap, vessel: Vessel, protocol: Protocol) -> str:
    """Why the beam is not known to pass from back to front; empty where it is."""
    runs = [vein_map.runs[i] for i in vessel.runs if i < len(vein_map.runs)] or vein_map.runs
    primary_max = protocol.limit("forward-course-primary-angle-max").value
    secondary_max = protocol.limit("forward-course-secondary-angle-max").value
    for run in runs:
        place = run.place or RunPlace()
        primary_deg, secondary_deg = place.primary_angle_deg, place.secondary_angle_deg
        if primary_deg is None or secondary_deg is None:
            return "the angles of tube and detector are not on the map"
        if abs(primary_deg) > primary_max or abs(secondary_deg) > secondary_max:
            return (
                f"tube and detector stood turned by {primary_deg:g} deg and tilted by "
                f"{secondary_deg:g} deg"
            )
    return ""


def _reach(vein_map: VeinMap, vessel: Vessel, protocol: Protocol) -> tuple[float, str]:
    """The length over which the whole course is reached, and where it is from."""
    ostium_mm = _mark_mm(vein_map, vessel, "ostium")
    for name, words in (("internal_ring", RING), ("superior_ramus_edge", RAMUS)):
        ring_mm = _mark_mm(vein_map, vessel, name)
        if ostium_mm is not None and ring_mm is not None and ring_mm > ostium_mm:
            return ring_mm - ostium_mm, words
    return protocol.limit("forward-course-length").value, NO_MARKS


def _mark_mm(vein_map: VeinMap, vessel: Vessel, name: str) -> float | None:
    mark = getattr(vein_map.landmarks, name)
    if mark is None:
        return None
    mm = vein_map.calibration.mm_per_pixel
    return project_onto(vessel, mark.point_px, mm_per_pixel=mm).arc_mm
