"""Frames drawn by hand: a trunk that fills first, and a line across it that fills when it does."""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from coilwright.veins import OwnEnd, VesselKind
from coilwright.venogram.crossings import without_crossings
from coilwright.venogram.false_strands import Filling
from coilwright.venogram.front import arrival_s
from coilwright.venogram.tree import Attachment, Strand

SIZE, FRAMES = 200, 20
RADIUS = np.full((SIZE, SIZE), 3.0, dtype=np.float32)
TRUNK_FROM = 5


def side(x_end: float) -> Strand:
    """A straight strand from the trunk at (100, 100) to a point on its left or right."""
    way = np.linspace(100.0, x_end, 71)
    points = np.column_stack([way, 100.0 + 0.3 * (way - 100.0)])
    joined = Attachment(own_end=OwnEnd.START, parent=0, at_xy=(100.0, 100.0))
    return Strand(kind=VesselKind.SIDE_VEIN, points_xy=points, attachments=(joined,))


def strands() -> list[Strand]:
    trunk = np.column_stack([np.full(SIZE, 100.0), np.arange(SIZE, dtype=np.float64)])
    return [Strand(kind=VesselKind.TRUNK, points_xy=trunk), side(170.0), side(30.0)]


def filling(line_from: int) -> Filling:
    trunk, line = np.zeros((SIZE, SIZE)), np.zeros((SIZE, SIZE))
    trunk[:, 97:104] = 0.5
    for strand in strands()[1:]:
        columns, rows = np.rint(strand.points_xy).astype(int).T
        for shift in (-2, -1, 0, 1, 2):
            line[rows + shift, columns] = 0.1
    stack = np.random.default_rng(4).normal(0, 0.003, (FRAMES, SIZE, SIZE))
    stack[TRUNK_FROM:] += gaussian_filter(trunk, 1.0)
    stack[line_from:] += gaussian_filter(line, 1.0)
    full = tuple(range(14, FRAMES))
    return Filling(frames=stack.astype(np.float32), mask_frames=(0, 1, 2), full_frames=full)


def test_a_line_across_that_fills_later_is_one_vein_that_joins_nothing() -> None:
    found = without_crossings(strands(), filling(TRUNK_FROM + 5), RADIUS)
    assert len(found) == 2
    assert not found[1].attachments
    assert sorted(found[1].points_xy[[0, -1], 0]) == pytest.approx([30.0, 170.0], abs=1.0)


def test_two_side_veins_opposite_each_other_that_fill_with_the_trunk_stay_two() -> None:
    found = without_crossings(strands(), filling(TRUNK_FROM), RADIUS)
    assert [len(strand.attachments) for strand in found] == [0, 1, 1]


def test_one_side_alone_that_fills_long_after_the_trunk_joins_nothing() -> None:
    found = without_crossings(strands()[:2], filling(TRUNK_FROM + 5), RADIUS)
    assert [len(strand.attachments) for strand in found] == [0, 0]


@pytest.mark.parametrize("rise_s", [0.2, 0.9])
def test_arrival_is_when_the_front_comes_and_not_when_half_is_there(rise_s: float) -> None:
    # Closed form: a rise in a straight line that begins at 2.0 + 0.01 n s and takes rise_s; frames
    # every 0.25 s, so no single point is known better than that, and the mean of many is.
    times = np.arange(40) * 0.25
    begins = 2.0 + 0.01 * np.arange(100)
    curves = np.clip((times[:, None] - begins) / rise_s, 0.0, 1.0)
    error = arrival_s(curves, tuple(times)) - begins
    assert abs(error.mean()) < 0.06
    assert np.abs(error).max() < 0.2
