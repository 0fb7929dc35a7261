"""What is drawn over a frame: the map coloured by calibre, the levels, marks and catheter tip.

Points are in the map's pixel grid, so the drawing's own coordinates are pixels of the run.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from coilwright.planning import Level, OcclusionPlan
from coilwright.veins import Landmark, VeinMap, Vessel
from coilwright.venogram.picture import CalibreScale, calibre_scale

# Calibres closer than this share one colour, so that a vessel is a few lines and not hundreds.
COLOUR_STEP_MM = 0.25
UNKNOWN_CALIBRE = "unknown"
# Sizes as shares of the picture's height.
TEXT_SHARE, BADGE_SHARE, OFFSET_SHARE = 0.034, 0.028, 0.03


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A piece of a vessel in one colour (``#rrggbb``, or ``unknown``); ``points`` as SVG has it."""

    points: str
    colour: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OverlayVessel:
    """One vessel: its whole course, and the pieces coloured by calibre."""

    id: str
    kind: str
    points: str
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OverlayZone:
    """A level's landing zone as a bar beside the vein, with its step number."""

    step: str
    points: str
    badge_px: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class OverlayMark:
    """A named point; the name stands to its left or its right, so that near ones stay apart."""

    name: str
    to_left: bool
    at_px: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class LegendStep:
    """One colour of the scale and the calibre that it stands for."""

    colour: str
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Overlay:
    """Everything drawn over a frame of ``columns`` by ``rows``."""

    columns: int
    rows: int
    text_px: float
    badge_px: float
    vessels: tuple[OverlayVessel, ...]
    zones: tuple[OverlayZone, ...]
    marks: tuple[OverlayMark, ...]
    tip_px: tuple[float, float] | None
    legend: tuple[LegendStep, ...]


def picture_overlay(vein_map: VeinMap, plan: OcclusionPlan) -> Overlay:
    """The drawing over the first run's frames."""
    run = vein_map.runs[0]
    scale = calibre_scale(vein_map)
    return Overlay(
        columns=run.columns,
        rows=run.rows,
        text_px=round(TEXT_SHARE * run.rows, 1),
        badge_px=round(BADGE_SHARE * run.rows, 1),
        # The trunk last, so that it lies on top.
        vessels=tuple(_vessel(vessel, scale) for vessel in reversed(vein_map.vessels)),
        zones=tuple(
            _zone(level, vein_map.vessel(level.zone.vessel), OFFSET_SHARE * run.rows)
            for level in plan.levels
        ),
        marks=_marks(vein_map),
        tip_px=vein_map.catheter.tip_px,
        legend=_legend(scale),
    )


def _vessel(vessel: Vessel, scale: CalibreScale) -> OverlayVessel:
    return OverlayVessel(
        id=vessel.id,
        kind=vessel.kind.value,
        points=_points(vessel.points_px),
        stretches=tuple(_stretches(vessel, scale)),
    )


def _stretches(vessel: Vessel, scale: CalibreScale) -> list[Stretch]:
    """Neighbouring samples of one colour joined; each piece reaches to the next one's start."""
    colours = [_colour(d, scale) for d in vessel.diameter_mm]
    starts = [0, *(i for i in range(1, len(colours)) if colours[i] != colours[i - 1])]
    return [
        Stretch(points=_points(vessel.points_px[start : end + 1]), colour=colours[start])
        for start, end in pairwise([*starts, len(colours)])
        if end + 1 - start > 1
    ]


def _colour(diameter_mm: float | None, scale: CalibreScale) -> str:
    if diameter_mm is None:
        return UNKNOWN_CALIBRE
    stepped_mm = round(diameter_mm / COLOUR_STEP_MM) * COLOUR_STEP_MM
    red, green, blue = scale.colours(np.array([stepped_mm]))[0]
    return f"#{red:02x}{green:02x}{blue:02x}"


def _zone(level: Level, vessel: Vessel, offset_px: float) -> OverlayZone:
    zone = level.zone
    inside = [
        point
        for arc_mm, point in zip(vessel.arc_mm, vessel.points_px, strict=True)
        if zone.from_mm <= arc_mm <= zone.to_mm
    ]
    x, y = zone.point_px
    return OverlayZone(
        step=str(level.order),
        points=_points(tuple((x - offset_px, y) for x, y in inside)),
        badge_px=(round(x - 2.2 * offset_px, 1), round(y, 1)),
    )


def _marks(vein_map: VeinMap) -> tuple[OverlayMark, ...]:
    named: tuple[tuple[str, bool, Landmark | None], ...] = (
        ("ostium", False, vein_map.landmarks.ostium),
        ("internal ring", False, vein_map.landmarks.internal_ring),
        ("pubic ramus", True, vein_map.landmarks.superior_ramus_edge),
    )
    return tuple(
        OverlayMark(name=name, to_left=to_left, at_px=landmark.point_px)
        for name, to_left, landmark in named
        if landmark is not None
    )


def _legend(scale: CalibreScale) -> tuple[LegendStep, ...]:
    """A colour for each whole millimetre, narrow first."""
    whole_mm = range(round(scale.low_mm), round(scale.high_mm) + 1)
    return tuple(LegendStep(colour=_colour(float(mm), scale), label=f"{mm}") for mm in whole_mm)


def _points(points_px: tuple[tuple[float, float], ...]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points_px)
