"""The catheter in the picture: its wall by hand, its place inside the vein."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial import cKDTree

from coilwright.phantom import Level, Scene, expected_quanta, random_scene
from coilwright.phantom.catheter import Approach, Catheter


@pytest.fixture
def catheter_scene(straight_scene: Scene) -> Scene:
    """The same vein with the tip far below the picture, so that the catheter crosses it."""
    return replace(
        straight_scene, catheter=replace(straight_scene.catheter, tip_mm=100.0, lean=0.0)
    )


def test_an_unfilled_catheter_absorbs_by_its_wall_alone(catheter_scene: Scene) -> None:
    # 5 Fr = 1.6667 mm, lumen 1.0 mm, wall 0.4 /mm. On the axis the wall is 0.6667 mm long:
    # exp(-0.26667) = 0.7659; the pixel of 0.15 mm sees 0.1 % more wall beside the axis.
    frame = next(iter(expected_quanta(catheter_scene)))
    beam = frame[32] / frame[32, 0]
    assert beam[48] == pytest.approx(0.7659, abs=1.5e-3)


def test_a_filled_catheter_in_a_filled_vein_displaces_its_contrast(catheter_scene: Scene) -> None:
    # On the axis: vein 4 - 1.6667 = 2.3333 mm at 0.1 /mm, wall 0.6667 mm at 0.4 /mm, lumen 1 mm
    # of 300 mg/mL: 0.3 g/cm3 * 12.3 cm2/g = 0.369 /mm. Sum 0.23333 + 0.26667 + 0.369 = 0.869.
    *_, frame = expected_quanta(catheter_scene)
    assert frame[32, 48] / frame[32, 0] == pytest.approx(np.exp(-0.869), abs=2e-3)


def test_the_tube_is_as_wide_as_its_french_size(catheter_scene: Scene) -> None:
    # Wall area pi / 4 * (1.6667**2 - 1.0**2) = 1.3963 mm2 at 0.4 /mm: 0.5585 mm across the tube;
    # 1 % for averaging intensity over the pixels of its edge.
    frame = next(iter(expected_quanta(catheter_scene)))
    depth = -np.log(frame[32] / frame[32, 0])
    assert float(depth.sum()) * 0.15 == pytest.approx(0.5585, rel=0.01)


@pytest.mark.parametrize("level", list(Level))
@pytest.mark.parametrize("seed", range(12))
def test_the_catheter_stays_inside_the_lumen(seed: int, level: Level) -> None:
    scene = random_scene(seed, level)
    trunk = scene.courses()["trunk"]
    catheter = scene.catheter_course(trunk)
    from_tip_mm = catheter.length_mm - catheter.arc_mm
    # The first 4 mm below the ostium are its mouth, where the catheter turns in.
    inside = from_tip_mm < scene.catheter.tip_mm - 4.0
    apart_mm, nearest = cKDTree(trunk.points_mm).query(catheter.points_mm[inside])
    free_mm = trunk.radius_mm[nearest] - scene.catheter.outer_mm / 2
    assert np.all(apart_mm <= free_mm)


@pytest.mark.parametrize("approach", list(Approach))
def test_the_catheter_comes_from_outside_the_picture_and_ends_at_its_tip(
    straight_scene: Scene, approach: Approach
) -> None:
    scene = replace(straight_scene, catheter=replace(straight_scene.catheter, approach=approach))
    trunk = scene.courses()["trunk"]
    course = scene.catheter_course(trunk)
    # The rounded end of a 5 Fr tube begins 0.83 mm before its tip; samples are 0.2 mm apart.
    tip_mm = course.points_mm[-1] + 0.83 * course.tangents[-1]
    assert np.linalg.norm((tip_mm - trunk.point_at(30.0))[1:]) < 0.2
    first_y_px = scene.cone.project_px(course.points_mm[:1])[0, 1]
    assert first_y_px < 0 if approach is Approach.NECK else first_y_px > scene.cone.rows


def test_a_lumen_wider_than_the_tube_is_refused() -> None:
    with pytest.raises(ValueError, match="does not fit in 4"):
        Catheter(size_fr=4.0, lumen_mm=1.4, wall_per_mm=0.3, approach=Approach.NECK, tip_mm=20.0)
