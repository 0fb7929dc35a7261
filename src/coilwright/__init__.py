"""Coilwright: measure, plan and record the closure of refluxing gonadal veins."""

from importlib.metadata import version

__version__ = version("coilwright")

__all__ = ["__version__"]
