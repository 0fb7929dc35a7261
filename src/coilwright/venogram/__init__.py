"""Pixels to vein map."""

from coilwright.venogram.measure import MeasuredRunFile, measure_run
from coilwright.venogram.picture import picture_of_map, scale_sentence
from coilwright.venogram.run_file import RunFile, read_run
from coilwright.venogram.scale import ScaleChoice

__all__ = [
    "MeasuredRunFile",
    "RunFile",
    "ScaleChoice",
    "measure_run",
    "picture_of_map",
    "read_run",
    "scale_sentence",
]
