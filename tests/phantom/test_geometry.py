"""The cone against hand-worked similar triangles."""

import numpy as np
import pytest

from coilwright.phantom.geometry import Cone

CONE = Cone(
    source_to_detector_mm=1100.0,
    source_to_isocentre_mm=750.0,
    imager_spacing_mm=0.308,
    rows=512,
    columns=640,
)


def test_magnification_and_isocentre_spacing_match_the_worked_example() -> None:
    # CLINICAL.md section 9: SID 1100, SOD 750, 0.308 mm -> 1.4667 and 0.2100 mm.
    assert CONE.magnification == pytest.approx(1.4667, abs=5e-5)
    assert CONE.isocentre_mm_per_pixel == pytest.approx(0.2100, abs=5e-5)


def test_scale_grows_in_proportion_to_the_distance_from_the_source() -> None:
    # By hand: 30 mm beyond the isocentre is 780 mm from the source: 0.308 * 780 / 1100 = 0.2184.
    points = np.array([[0.0, 0.0, 30.0], [12.0, -40.0, 30.0]])
    assert CONE.mm_per_pixel(points) == pytest.approx([0.2184, 0.2184], abs=1e-9)


def test_a_point_is_projected_by_similar_triangles() -> None:
    # By hand: 700 mm from the source; 10 mm aside -> 10 * 1100 / 700 / 0.308 = 51.0204 px from
    # the central ray, which meets a 640 x 512 picture at (319.5, 255.5).
    x_px, y_px = CONE.project_px(np.array([[10.0, -20.0, -50.0]]))[0]
    assert x_px == pytest.approx(319.5 + 51.0204, abs=1e-4)
    assert y_px == pytest.approx(255.5 - 102.0408, abs=1e-4)


def test_the_ray_through_a_projected_point_passes_through_the_point() -> None:
    point = np.array([[31.0, -17.0, 22.0]])
    ray = CONE.ray_directions(CONE.project_px(point))[0]
    from_source = point[0] - CONE.source_mm
    # Parallel vectors have no cross product.
    assert np.linalg.norm(np.cross(ray, from_source)) == pytest.approx(0.0, abs=1e-9)


def test_an_isocentre_beyond_the_detector_is_refused() -> None:
    with pytest.raises(ValueError, match="between source and detector"):
        Cone(
            source_to_detector_mm=700.0,
            source_to_isocentre_mm=750.0,
            imager_spacing_mm=0.3,
            rows=8,
            columns=8,
        )
