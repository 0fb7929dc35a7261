"""The value types that the rest of the program speaks in, and their JSON."""

from coilwright.veins.calibration import Calibration, CalibrationMethod
from coilwright.veins.injected_front import RefluxView, reflux_view
from coilwright.veins.landmarks import Catheter, Landmark, Landmarks
from coilwright.veins.notice import Notice
from coilwright.veins.runs import Conditions, Front, MeasuredRun
from coilwright.veins.sides import Side
from coilwright.veins.vein_map import Quality, VeinMap
from coilwright.veins.vein_map_json import vein_map_from_json, vein_map_to_json
from coilwright.veins.vessels import (
    DiameterMethod,
    Join,
    Narrowing,
    OwnEnd,
    Vessel,
    VesselKind,
)

__all__ = [
    "Calibration",
    "CalibrationMethod",
    "Catheter",
    "Conditions",
    "DiameterMethod",
    "Front",
    "Join",
    "Landmark",
    "Landmarks",
    "MeasuredRun",
    "Narrowing",
    "Notice",
    "OwnEnd",
    "Quality",
    "RefluxView",
    "Side",
    "VeinMap",
    "Vessel",
    "VesselKind",
    "reflux_view",
    "vein_map_from_json",
    "vein_map_to_json",
]
