"""The physics renderer: runs of a gonadal venogram with known truth."""

from coilwright.phantom.demo_scene import demo_scene
from coilwright.phantom.detector import BlurKernel
from coilwright.phantom.random_scene import random_scene
from coilwright.phantom.render import Rendered, expected_quanta, render
from coilwright.phantom.run_dicom import write_run
from coilwright.phantom.scene import Level, Scene
from coilwright.phantom.storage import Photometric, Relationship, Storage
from coilwright.phantom.truth import Truth
from coilwright.phantom.truth_json import truth_from_json, truth_to_json

__all__ = [
    "BlurKernel",
    "Level",
    "Photometric",
    "Relationship",
    "Rendered",
    "Scene",
    "Storage",
    "Truth",
    "demo_scene",
    "expected_quanta",
    "random_scene",
    "render",
    "truth_from_json",
    "truth_to_json",
    "write_run",
]
