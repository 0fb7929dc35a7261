"""The invented scenario: patient, hospital, devices and places are made up."""

from coilwright.demo.write_demo import write_demo_case

__all__ = ["write_demo_case"]
