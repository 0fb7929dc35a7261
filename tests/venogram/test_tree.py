from itertools import pairwise

import numpy as np
import pytest
from skimage.draw import disk, line
from skimage.morphology import skeletonize

from coilwright.veins import OwnEnd, VesselKind
from coilwright.venogram.skeleton_graph import prune, skeleton_graph
from coilwright.venogram.tree import Strand, read_tree


def drawn(*paths: list[tuple[int, int]]) -> np.ndarray:
    """A skeleton of polylines given as (x, y)."""
    canvas = np.zeros((300, 200), dtype=bool)
    for path in paths:
        for (x0, y0), (x1, y1) in pairwise(path):
            canvas[line(y0, x0, y1, x1)] = True
    return np.asarray(skeletonize(canvas))


def strengths(skeleton: np.ndarray, weak: list[tuple[int, int]]) -> np.ndarray:
    """One everywhere, a third near the weak points (x, y)."""
    strength = np.ones(skeleton.shape, dtype=np.float32)
    for x, y in weak:
        strength[disk((y, x), 30, shape=strength.shape)] = 0.33
    return strength


def strands_of(skeleton: np.ndarray, weak: list[tuple[int, int]]) -> list[Strand]:
    """The tree of a skeleton of veins about three pixels in radius."""
    radius_px = np.full(skeleton.shape, 3.0, dtype=np.float32)
    return read_tree(skeleton_graph(skeleton), strengths(skeleton, weak), radius_px, 20.0)


TRUNK = [(100, 10), (100, 150), (104, 290)]
SIDE = [(100, 80), (150, 120), (170, 160)]
TURN = 2.0 * np.pi
LOOP = [(100, 180), (60, 200), (60, 240), (103, 265)]


def test_a_fork_is_a_trunk_and_a_side_vein_that_leaves_it() -> None:
    skeleton = drawn(TRUNK, SIDE)
    strands = strands_of(skeleton, weak=[(150, 125)])
    assert [s.kind for s in strands] == [VesselKind.TRUNK, VesselKind.SIDE_VEIN]
    assert strands[0].points_xy[0, 1] < strands[0].points_xy[-1, 1]
    (join,) = strands[1].attachments
    assert join.own_end is OwnEnd.START
    assert abs(join.at_xy[1] - 80) < 4


def test_a_weaker_channel_that_rejoins_is_a_duplicate_with_two_joins() -> None:
    skeleton = drawn(TRUNK, LOOP)
    strands = strands_of(skeleton, weak=[(60, 220)])
    assert [s.kind for s in strands] == [VesselKind.TRUNK, VesselKind.DUPLICATE]
    at = sorted(join.at_xy[1] for join in strands[1].attachments)
    assert abs(at[0] - 180) < 5
    assert abs(at[1] - 265) < 5


def test_what_is_not_connected_to_the_trunk_is_no_vein_of_the_tree() -> None:
    skeleton = drawn(TRUNK, [(20, 30), (40, 90)])
    strands = strands_of(skeleton, weak=[])
    assert [s.kind for s in strands] == [VesselKind.TRUNK]


def test_length_of_a_straight_branch() -> None:
    # By hand: 3-4-5, from (10, 10) to (40, 50) is 50 px; a pixel chain runs at 45 and 90 degrees,
    # 30 diagonal and 10 straight steps: 30 * sqrt(2) + 10 = 52.4.
    graph = skeleton_graph(drawn([(10, 10), (40, 50)]))
    ((_, _, data),) = graph.edges(data=True)
    assert abs(data["branch"].length_px - 52.4) < 1.5


def test_spurs_go_and_their_chain_is_joined_again() -> None:
    graph = skeleton_graph(drawn(TRUNK, [(100, 150), (106, 152)]))
    pruned = prune(graph, 15.0)
    assert pruned.number_of_edges() == 1
    assert pruned.number_of_nodes() == 2


def test_veins_that_cross_beside_the_trunk_each_keep_their_own_course() -> None:
    # Two straight lines drawn by hand cross at (141, 97); each goes on straight on the other side,
    # so the one that starts at the trunk ends at (180, 116), the other at (150, 40).
    skeleton = drawn(TRUNK, [(100, 76), (180, 116)], [(135, 140), (150, 40)])
    strands = strands_of(skeleton, weak=[(150, 100)])
    ends = [tuple(np.rint(s.points_xy[-1])) for s in strands if s.attachments]
    assert len(ends) == 1
    assert np.hypot(ends[0][0] - 180, ends[0][1] - 116) < 4
    crossing = next(s for s in strands[1:] if not s.attachments)
    assert min(np.hypot(*(crossing.points_xy - (150, 40)).T)) < 4


def test_a_side_vein_is_carried_on_straight_to_the_axis_of_the_trunk() -> None:
    # By hand: the vein comes along y = x - 20 from (180, 160); its ridge bends into the corner at
    # (112, 92) and runs across to the trunk there. Its own line meets x = 100 at y = 80.
    skeleton = drawn([(100, 10), (100, 290)], [(100, 92), (112, 92), (180, 160)])
    strands = strands_of(skeleton, weak=[(150, 130)])
    (join,) = strands[1].attachments
    assert join.at_xy == pytest.approx((100, 80), abs=3)


def test_loops_beside_the_trunk_are_one_tangle_that_opens_where_it_leaves_it() -> None:
    # Two circles of radius 20 px about points 24 px apart, and a stem from the trunk.
    loops = [
        [(cx + round(20 * np.cos(a)), cy + round(20 * np.sin(a))) for a in np.linspace(0, TURN, 60)]
        for cx, cy in ((146, 160), (156, 182))
    ]
    skeleton = drawn(TRUNK, *loops, [(101, 150), (127, 155)])
    strands = strands_of(skeleton, weak=[(150, 170)])
    assert [s.kind for s in strands] == [VesselKind.TRUNK, VesselKind.TANGLE]
    (join,) = strands[1].attachments
    assert join.at_xy == pytest.approx((101, 150), abs=4)


def test_a_single_duplicate_is_no_tangle_and_the_trunk_goes_on_straight_beside_it() -> None:
    skeleton = drawn([(100, 10), (100, 290)], [*LOOP[:-1], (100, 265)])
    strands = strands_of(skeleton, weak=[])
    assert [s.kind for s in strands] == [VesselKind.TRUNK, VesselKind.DUPLICATE]
    assert np.abs(strands[0].points_xy[:, 0] - 100).max() < 4
