"""Pixels to vein map."""

from coilwright.venogram.comparison_picture import picture_of_comparison
from coilwright.venogram.completion import ComparedRun, CompletionRun, compare_with_map
from coilwright.venogram.completion_zones import AskedZone
from coilwright.venogram.drawn_vessel import edited
from coilwright.venogram.joined_runs import (
    PlacedRun,
    join_runs,
    require_one_patient,
    with_place,
)
from coilwright.venogram.measure import MeasuredRunFile, measure_run
from coilwright.venogram.picture import picture_of_map, scale_sentence
from coilwright.venogram.run_file import RunFile, read_run
from coilwright.venogram.run_place import RunHeader, read_header
from coilwright.venogram.scale import ScaleChoice

__all__ = [
    "AskedZone",
    "ComparedRun",
    "CompletionRun",
    "MeasuredRunFile",
    "PlacedRun",
    "RunFile",
    "RunHeader",
    "ScaleChoice",
    "compare_with_map",
    "edited",
    "join_runs",
    "measure_run",
    "picture_of_comparison",
    "picture_of_map",
    "read_header",
    "read_run",
    "require_one_patient",
    "scale_sentence",
    "with_place",
]
