"""Contrast along a ray counts every place once, and none where the catheter is."""

import numpy as np
import pytest

from coilwright.phantom.chords import Chords
from coilwright.phantom.ray_union import united


def chord(*intervals: tuple[int, float, float]) -> Chords:
    cell, near_mm, far_mm = zip(*intervals, strict=True) if intervals else ((), (), ())
    nothing = np.zeros(len(cell))
    return Chords(
        cell=np.array(cell, dtype=np.int64),
        near_mm=np.array(near_mm, dtype=float),
        far_mm=np.array(far_mm, dtype=float),
        arc_mm=nothing,
        across=nothing,
    )


def total_mm(veins: list[Chords], catheter: Chords, cell: int) -> float:
    stretches = united(list(enumerate(veins)), catheter, cell_count=10)
    return float(np.sum(stretches.length_mm[stretches.cell == cell]))


def test_veins_at_different_depths_add() -> None:
    # 4 mm of one and 3 mm of the other, 16 mm apart: 7 mm.
    veins = [chord((5, 100.0, 104.0)), chord((5, 120.0, 123.0))]
    assert total_mm(veins, chord(), 5) == pytest.approx(7.0)


def test_veins_in_the_same_place_count_once() -> None:
    # [100, 104] and [102, 105] cover [100, 105]: 5 mm; one inside the other adds nothing.
    assert total_mm([chord((5, 100.0, 104.0)), chord((5, 102.0, 105.0))], chord(), 5) == (
        pytest.approx(5.0)
    )
    assert total_mm([chord((5, 100.0, 104.0)), chord((5, 101.0, 102.0))], chord(), 5) == (
        pytest.approx(4.0)
    )


def test_three_chords_in_any_order_make_the_length_of_their_union() -> None:
    # [0, 10], [2, 3], [8, 12] cover [0, 12].
    veins = [chord((1, 8.0, 12.0)), chord((1, 0.0, 10.0)), chord((1, 2.0, 3.0))]
    assert total_mm(veins, chord(), 1) == pytest.approx(12.0)
    assert total_mm(veins[::-1], chord(), 1) == pytest.approx(12.0)


def test_rays_do_not_mix() -> None:
    veins = [chord((1, 0.0, 4.0), (2, 0.0, 1.0)), chord((2, 0.5, 3.0))]
    assert total_mm(veins, chord(), 1) == pytest.approx(4.0)
    assert total_mm(veins, chord(), 2) == pytest.approx(3.0)


def test_the_catheter_displaces_contrast_only_where_it_lies_in_the_vein() -> None:
    vein = [chord((1, 100.0, 104.0))]
    # A catheter of 1.7 mm wholly inside: 4.0 - 1.7 = 2.3; half out: [103, 105] takes 1 mm;
    # at another depth or on another ray: nothing.
    assert total_mm(vein, chord((1, 101.0, 102.7)), 1) == pytest.approx(2.3)
    assert total_mm(vein, chord((1, 103.0, 105.0)), 1) == pytest.approx(3.0)
    assert total_mm(vein, chord((1, 90.0, 92.0)), 1) == pytest.approx(4.0)
    assert total_mm(vein, chord((2, 101.0, 102.7)), 1) == pytest.approx(4.0)
