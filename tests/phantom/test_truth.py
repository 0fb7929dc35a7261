"""The truth that comes with a run."""

import json
from dataclasses import replace

import numpy as np
import pytest

from coilwright.phantom import (
    Level,
    Scene,
    Truth,
    demo_scene,
    random_scene,
    truth_from_json,
    truth_to_json,
)
from coilwright.phantom.true_run import true_run
from coilwright.phantom.vein import Spasm, VeinKind
from coilwright.veins import OwnEnd


@pytest.fixture(scope="module")
def demo() -> Truth:
    return true_run(demo_scene())


def test_a_straight_vein_is_where_it_was_put(straight_scene: Scene) -> None:
    # Down the middle of a 97 x 65 picture: x = 48, and 0.15 mm per pixel in the isocentre's plane.
    trunk = true_run(straight_scene).trunk
    assert np.array(trunk.points_px)[:, 0] == pytest.approx(48.0, abs=1e-3)
    assert trunk.mm_per_pixel == pytest.approx([0.15] * len(trunk.points_px), abs=1e-6)
    assert trunk.diameter_mm == pytest.approx([4.0] * len(trunk.points_px), abs=1e-4)
    assert trunk.leaves_frame


def test_samples_lie_at_most_0_3_mm_apart_and_inside_the_picture(demo: Truth) -> None:
    for vessel in demo.vessels:
        points_px = np.array(vessel.points_px)
        apart_mm = np.linalg.norm(np.diff(points_px, axis=0), axis=1) * vessel.mm_per_pixel[0]
        assert apart_mm.max() <= 0.3
        assert points_px.min() >= 0
        assert points_px.max() <= 767


def test_projected_arc_is_no_longer_than_the_arc_in_space(demo: Truth) -> None:
    for vessel in demo.vessels:
        projected_mm = vessel.projected_arc_mm[-1] - vessel.projected_arc_mm[0]
        assert projected_mm <= (vessel.arc_mm[-1] - vessel.arc_mm[0]) * 1.005


def test_a_spasm_narrows_by_its_share(straight_scene: Scene) -> None:
    # By hand: 4 mm relaxed, a quarter less: 3 mm in the middle, 3.5 mm half way out.
    spasm = Spasm(centre_mm=60.0, half_length_mm=10.0, share=0.25)
    narrowed = replace(straight_scene.trunk, spasm=spasm)
    course = narrowed.course()
    assert 2 * course.radius_at(60.0) == pytest.approx(3.0, abs=1e-3)
    assert 2 * course.radius_at(65.0) == pytest.approx(3.5, abs=2e-2)
    truth = true_run(replace(straight_scene, veins=(narrowed,)))
    narrowing = truth.trunk.narrowing
    assert narrowing is not None
    assert (narrowing.from_mm, narrowing.to_mm) == (50.0, 70.0)
    assert narrowing.relaxed_diameter_mm == pytest.approx(4.0, abs=1e-3)


def test_the_demonstration_shows_what_it_promises(demo: Truth) -> None:
    kinds = [vessel.kind for vessel in demo.vessels]
    assert kinds.count(VeinKind.DUPLICATE) == 1
    assert kinds.count(VeinKind.SIDE_VEIN) == 3
    narrowing = demo.trunk.narrowing
    assert narrowing is not None
    assert narrowing.diameter_mm == pytest.approx(2.9, abs=0.1)
    assert narrowing.relaxed_diameter_mm == pytest.approx(4.6, abs=0.1)
    assert demo.catheter.outer_mm == pytest.approx(5 / 3)
    assert None not in (
        demo.landmarks.ostium,
        demo.landmarks.internal_ring,
        demo.landmarks.superior_ramus_edge,
    )


def test_the_internal_ring_of_the_demonstration_lies_above_the_ramus_edge(demo: Truth) -> None:
    ring, ramus = demo.landmarks.internal_ring, demo.landmarks.superior_ramus_edge
    assert ring is not None
    assert ramus is not None
    assert ring[1] < ramus[1] < 767


def test_the_duplicate_leaves_and_rejoins_the_trunk(demo: Truth) -> None:
    (duplicate,) = (vessel for vessel in demo.vessels if vessel.kind is VeinKind.DUPLICATE)
    trunk = demo.trunk
    points_px, arc_mm = np.array(trunk.points_px), np.array(trunk.arc_mm)
    for join in duplicate.joins:
        own = duplicate.points_px[0 if join.own_end is OwnEnd.START else -1]
        on_trunk = points_px[np.argmin(np.abs(arc_mm - join.at_mm))]
        assert np.linalg.norm(np.array(own) - on_trunk) < 1.0
    # Clear of the trunk in projection over most of its length.
    assert np.mean(duplicate.overlapped) < 0.5


def test_an_overlap_is_marked_on_both_vessels(demo: Truth) -> None:
    (duplicate,) = (vessel for vessel in demo.vessels if vessel.kind is VeinKind.DUPLICATE)
    assert duplicate.overlapped[0]
    assert any(demo.trunk.overlapped)
    assert not all(demo.trunk.overlapped)


def test_scale_at_the_catheter_is_that_of_its_depth(straight_scene: Scene) -> None:
    # The vein lies 22 mm beyond the isocentre: 0.22 * 772 / 1100 = 0.1544 mm per pixel.
    trunk = straight_scene.trunk
    deeper = replace(trunk, knots_mm=tuple((x, y, 22.0) for x, y, _ in trunk.knots_mm))
    truth = true_run(replace(straight_scene, veins=(deeper,)))
    assert truth.scale.at_catheter == pytest.approx(0.1544, abs=1e-6)
    assert truth.scale.at_isocentre == pytest.approx(0.15, abs=1e-6)


@pytest.mark.parametrize("level", list(Level))
def test_truth_survives_json(level: Level) -> None:
    truth = true_run(random_scene(3, level))
    assert truth_from_json(truth_to_json(truth)) == truth


def test_json_names_its_format_and_version(demo: Truth) -> None:
    document = json.loads(truth_to_json(demo))
    assert (document["format"], document["version"]) == ("coilwright.phantom-truth", 1)


def test_another_format_or_version_is_refused(demo: Truth) -> None:
    document = json.loads(truth_to_json(demo))
    with pytest.raises(ValueError, match="not a phantom truth"):
        truth_from_json(json.dumps(document | {"format": "something else"}))
    with pytest.raises(ValueError, match="version 2; this program reads 1"):
        truth_from_json(json.dumps(document | {"version": 2}))
