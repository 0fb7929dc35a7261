from itertools import pairwise

import numpy as np
from skimage.draw import disk, line
from skimage.morphology import skeletonize

from coilwright.veins import OwnEnd, VesselKind
from coilwright.venogram.skeleton_graph import prune, skeleton_graph
from coilwright.venogram.tree import read_tree


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


TRUNK = [(100, 10), (100, 150), (104, 290)]
SIDE = [(100, 80), (150, 120), (170, 160)]
LOOP = [(100, 180), (60, 200), (60, 240), (103, 265)]


def test_a_fork_is_a_trunk_and_a_side_vein_that_leaves_it() -> None:
    skeleton = drawn(TRUNK, SIDE)
    strands = read_tree(skeleton_graph(skeleton), strengths(skeleton, [(150, 125)]), 20.0)
    assert [s.kind for s in strands] == [VesselKind.TRUNK, VesselKind.SIDE_VEIN]
    assert strands[0].points_xy[0, 1] < strands[0].points_xy[-1, 1]
    (join,) = strands[1].attachments
    assert join.own_end is OwnEnd.START
    assert abs(join.at_xy[1] - 80) < 4


def test_a_weaker_channel_that_rejoins_is_a_duplicate_with_two_joins() -> None:
    skeleton = drawn(TRUNK, LOOP)
    strands = read_tree(skeleton_graph(skeleton), strengths(skeleton, [(60, 220)]), 20.0)
    assert [s.kind for s in strands] == [VesselKind.TRUNK, VesselKind.DUPLICATE]
    at = sorted(join.at_xy[1] for join in strands[1].attachments)
    assert abs(at[0] - 180) < 5
    assert abs(at[1] - 265) < 5


def test_what_is_not_connected_to_the_trunk_is_no_vein_of_the_tree() -> None:
    skeleton = drawn(TRUNK, [(20, 30), (40, 90)])
    strands = read_tree(skeleton_graph(skeleton), strengths(skeleton, []), 20.0)
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
