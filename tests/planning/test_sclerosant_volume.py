"""The vein between two levels, against the closed form of a cylinder and of a cone."""

import math
from dataclasses import replace

import pytest

from coilwright.planning import SclerosantFigure
from coilwright.planning.sclerosant_volume import vein_between
from coilwright.protocol import load_protocol
from coilwright.veins import Vessel
from planning.straight_trunks import straight_vessel, vein_map_of

PROTOCOL = load_protocol()
VOLUME_TOLERANCE_ML = 0.005


def between(vessel: Vessel, from_mm: float, to_mm: float) -> SclerosantFigure | None:
    calibration = vein_map_of(vessel).calibration
    return vein_between(vessel, from_mm, to_mm, calibration, PROTOCOL)


def test_a_cylinder_holds_what_the_reference_pack_says() -> None:
    # CLINICAL.md 4.3: 6 mm x 25 cm = 7.07 mL.
    figure = between(straight_vessel(length_mm=300), 20.0, 270.0)
    assert figure is not None
    assert figure.volume_ml == pytest.approx(7.07, abs=VOLUME_TOLERANCE_ML)
    # 6 mm with 0.15, 0.30 and 0.12 mm is 5.94 % of calibre, 11.87 % of volume.
    assert figure.sd_ml == pytest.approx(0.1187 * 7.07, abs=VOLUME_TOLERANCE_ML)


def test_a_taper_holds_what_a_cut_cone_holds() -> None:
    # Frustum: pi h / 12 (D^2 + D d + d^2) with 8 and 4 mm over 200 mm = 5.864 mL.
    vessel = straight_vessel()
    taper = tuple(8.0 - 4.0 * arc_mm / 200 for arc_mm in vessel.arc_mm)
    figure = between(replace(vessel, diameter_mm=taper), 0.0, 200.0)
    assert figure is not None
    assert figure.volume_ml == pytest.approx(math.pi * 200 / 12 * 112 / 1000, abs=1e-3)


def test_the_figure_says_that_it_is_no_dose() -> None:
    figure = between(straight_vessel(), 50.0, 150.0)
    assert figure is not None
    assert "not a dose" in figure.text
    assert "at least the projected one" in figure.text


def test_a_stretch_that_is_mostly_unmeasured_gives_no_figure() -> None:
    vessel = straight_vessel()
    gappy = tuple(d if i % 3 == 0 else None for i, d in enumerate(vessel.diameter_mm))
    assert between(replace(vessel, diameter_mm=gappy), 50.0, 150.0) is None
    assert between(vessel, 150.0, 150.0) is None
