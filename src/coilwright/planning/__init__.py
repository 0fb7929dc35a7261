"""Where to close the vein and with what: from vein map, kit and local limits to a plan."""

from coilwright.planning.coil_nest import nest_length_mm, packing_percent
from coilwright.planning.least_closure import LeastClosure
from coilwright.planning.network_marks import NetworkMarks
from coilwright.planning.occlusion import plan_occlusion
from coilwright.planning.pathways_left import PathwaysLeft
from coilwright.planning.plan import (
    CalibrationSummary,
    DeviceChoice,
    IfRelaxed,
    LandingZone,
    Level,
    LevelCalibre,
    LevelName,
    Mouth,
    NestMouth,
    OcclusionPlan,
    PlugChoice,
    TipDistance,
    TipMove,
)
from coilwright.planning.plan_json import plan_from_json, plan_to_json
from coilwright.planning.pull_lines import (
    Against,
    Missing,
    Objection,
    PullLine,
    PullList,
    PullRole,
    Purpose,
    Rescue,
    RescueVerdict,
)
from coilwright.planning.pull_list import pull_list
from coilwright.planning.pull_list_json import pull_list_from_json, pull_list_to_json
from coilwright.planning.sclerosant_figure import SclerosantFigure
from coilwright.planning.technique_table import Technique, TechniqueRow, TechniqueTable
from coilwright.planning.undersize import probability_undersized

__all__ = [
    "Against",
    "CalibrationSummary",
    "DeviceChoice",
    "IfRelaxed",
    "LandingZone",
    "LeastClosure",
    "Level",
    "LevelCalibre",
    "LevelName",
    "Missing",
    "Mouth",
    "NestMouth",
    "NetworkMarks",
    "Objection",
    "OcclusionPlan",
    "PathwaysLeft",
    "PlugChoice",
    "PullLine",
    "PullList",
    "PullRole",
    "Purpose",
    "Rescue",
    "RescueVerdict",
    "SclerosantFigure",
    "Technique",
    "TechniqueRow",
    "TechniqueTable",
    "TipDistance",
    "TipMove",
    "nest_length_mm",
    "packing_percent",
    "plan_from_json",
    "plan_occlusion",
    "plan_to_json",
    "probability_undersized",
    "pull_list",
    "pull_list_from_json",
    "pull_list_to_json",
]
