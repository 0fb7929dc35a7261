"""The value types that the rest of the program speaks in, and their JSON."""

from coilwright.veins.calibration import Calibration, CalibrationMethod
from coilwright.veins.comparison import (
    Band,
    ComparedZone,
    Comparison,
    NewVein,
    ResidualBand,
    Stretch,
    ZoneState,
)
from coilwright.veins.comparison_json import comparison_to_json
from coilwright.veins.conditions_agree import Agreement, same_injection, same_strain
from coilwright.veins.conditions_file import read_conditions, require_possible
from coilwright.veins.edited_map import EditProblem, with_edits
from coilwright.veins.edits import AppliedEdit, MapEdits, stated_conditions
from coilwright.veins.edits_file import read_edits, with_edits_of_file
from coilwright.veins.injected_front import RefluxView, reflux_view
from coilwright.veins.injection_words import injection_words
from coilwright.veins.joined_maps import NothingShared, join_maps
from coilwright.veins.landmarks import Catheter, Landmark, Landmarks
from coilwright.veins.notice import Notice
from coilwright.veins.runs import IDENTITY, Affine, Conditions, Front, MeasuredRun, RunPlace
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
    "IDENTITY",
    "Affine",
    "Agreement",
    "AppliedEdit",
    "Band",
    "Calibration",
    "CalibrationMethod",
    "Catheter",
    "ComparedZone",
    "Comparison",
    "Conditions",
    "DiameterMethod",
    "EditProblem",
    "Front",
    "Join",
    "Landmark",
    "Landmarks",
    "MapEdits",
    "MeasuredRun",
    "Narrowing",
    "NewVein",
    "NothingShared",
    "Notice",
    "OwnEnd",
    "Quality",
    "RefluxView",
    "ResidualBand",
    "RunPlace",
    "Side",
    "Stretch",
    "VeinMap",
    "Vessel",
    "VesselKind",
    "ZoneState",
    "comparison_to_json",
    "injection_words",
    "join_maps",
    "read_conditions",
    "read_edits",
    "reflux_view",
    "require_possible",
    "same_injection",
    "same_strain",
    "stated_conditions",
    "vein_map_from_json",
    "vein_map_to_json",
    "with_edits",
    "with_edits_of_file",
]
