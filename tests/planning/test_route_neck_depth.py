"""From the neck to the atrium, against the formulas as printed and ranges worked by hand."""

import pytest

from coilwright.planning.route_neck_depth import FORMULAS, neck_depth
from coilwright.veins import Side
from planning.route_cases import PROTOCOL, with_choice


# Peres PW, Anaesth Intensive Care 1990;18:536-539: right height/10, left height/10 + 4; Lee J et
# al., Int J Med Sci 2024;21:431-438: right height/10 - 1.5; modified formula of Peres, Indian J
# Anaesth 2022: right height/10 - 2.
@pytest.mark.parametrize(
    ("formula", "side", "height_cm", "printed_cm"),
    [
        ("peres-1990", Side.RIGHT, 170, 17.0),
        ("peres-1990", Side.LEFT, 170, 21.0),
        ("lee-2024", Side.RIGHT, 170, 15.5),
        ("modified-peres-2022", Side.RIGHT, 170, 15.0),
        ("peres-1990", Side.RIGHT, 158, 15.8),
        ("lee-2024", Side.RIGHT, 183, 16.8),
    ],
)
def test_each_formula_gives_the_depth_that_it_prints(
    formula: str, side: Side, height_cm: float, printed_cm: float
) -> None:
    assert FORMULAS[formula].depth_cm(side, height_cm) == pytest.approx(printed_cm, abs=1e-9)


@pytest.mark.parametrize("formula", ["lee-2024", "modified-peres-2022"])
def test_a_formula_of_the_right_side_says_nothing_of_the_left(formula: str) -> None:
    assert FORMULAS[formula].depth_cm(Side.LEFT, 170) is None


def test_figures_that_no_height_changes_stand_as_printed() -> None:
    # J Anesth Clin Res 2012;3:253, table 1: right 16, left 19,1 cm. Korean J Vasc Endovasc Surg
    # 2012;28:126-132: carina to junction 30.80 +- 9.03 mm. Lee 2024: 2 cm above the crista.
    values = {
        "neck-distance-right-mean": 16,
        "neck-distance-left-mean": 19.1,
        "carina-above-junction": 3.08,
        "carina-above-junction-sd": 0.9,
        "neck-depth-lee-above-junction": 2,
    }
    for id, printed in values.items():
        assert PROTOCOL.limit(id).value == printed


def test_the_right_range_spans_every_published_figure_and_single_patients_beyond() -> None:
    # At 175 cm, carried on to the junction: 17.5; 16.0 + 2 = 18.0; 15.5 + 3.08 = 18.58; mean 16.
    # Low: 16 - 2 x 1.1 = 13.8. High: 18.58 + 2 x root(1.1^2 + 0.9^2) = 18.58 + 2.8425 = 21.4225.
    depth = neck_depth(Side.RIGHT, 175, PROTOCOL)
    assert depth is not None
    assert depth.length.value_mm == pytest.approx(175)
    assert depth.length.low_mm == pytest.approx(138.0)
    assert depth.length.high_mm == pytest.approx(214.225, abs=0.001)


def test_the_left_range_spans_the_one_formula_and_the_mean() -> None:
    # At 175 cm: 21.5 and the mean 19.1, each with 2 x 1.1 cm.
    depth = neck_depth(Side.LEFT, 175, PROTOCOL)
    assert depth is not None
    assert depth.length.value_mm == pytest.approx(215)
    assert (depth.length.low_mm, depth.length.high_mm) == pytest.approx((169.0, 237.0))


def test_the_choice_moves_the_figure_and_never_the_range() -> None:
    peres = neck_depth(Side.RIGHT, 175, PROTOCOL)
    lee = neck_depth(Side.RIGHT, 175, with_choice(PROTOCOL, "neck-depth-formula", "lee-2024"))
    assert peres is not None
    assert lee is not None
    assert lee.length.value_mm == pytest.approx(180)
    assert (lee.length.low_mm, lee.length.high_mm) == (peres.length.low_mm, peres.length.high_mm)


def test_a_choice_without_a_figure_from_the_left_is_said_not_to_be_followed() -> None:
    chosen = with_choice(PROTOCOL, "neck-depth-formula", "lee-2024")
    left = neck_depth(Side.LEFT, 175, chosen)
    assert left is not None
    assert (left.followed, left.not_followed) == ("peres-1990", "lee-2024")


def test_formulas_made_on_adults_give_nothing_for_a_child() -> None:
    assert neck_depth(Side.RIGHT, 120, PROTOCOL) is None


def test_the_depth_is_no_surer_than_the_spread_that_nobody_published() -> None:
    depth = neck_depth(Side.RIGHT, 175, PROTOCOL)
    assert depth is not None
    assert PROTOCOL.limit("neck-depth-sd") in depth.basis
    assert not PROTOCOL.limit("neck-depth-sd").stands
