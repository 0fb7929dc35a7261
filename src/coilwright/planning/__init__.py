"""Where to close the vein and with what: from vein map, kit and local limits to a plan."""

from coilwright.planning.coil_nest import nest_length_mm, packing_percent
from coilwright.planning.occlusion import plan_occlusion
from coilwright.planning.plan import (
    CalibrationSummary,
    DeviceChoice,
    LandingZone,
    Level,
    LevelCalibre,
    LevelName,
    Mouth,
    OcclusionPlan,
    SclerosantFigure,
    TipDistance,
    TipMove,
)
from coilwright.planning.plan_json import plan_from_json, plan_to_json
from coilwright.planning.undersize import probability_undersized

__all__ = [
    "CalibrationSummary",
    "DeviceChoice",
    "LandingZone",
    "Level",
    "LevelCalibre",
    "LevelName",
    "Mouth",
    "OcclusionPlan",
    "SclerosantFigure",
    "TipDistance",
    "TipMove",
    "nest_length_mm",
    "packing_percent",
    "plan_from_json",
    "plan_occlusion",
    "plan_to_json",
    "probability_undersized",
]
