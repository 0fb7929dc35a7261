"""The chance of an undersized coil against a handbook's table of the normal distribution."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import truncnorm

from coilwright.planning import probability_undersized
from coilwright.planning.undersize import probability_narrower

TABLE_TOLERANCE = 5e-5  # four-figure table
# Far from zero, cutting off at zero changes nothing that a four-figure table could show.
VEIN_MM, SD_MM = 6.0, 0.5


@pytest.mark.parametrize(
    ("z", "phi"),
    # Phi(z), table of the standard normal distribution (any statistics handbook).
    [(0.0, 0.5), (0.5, 0.6915), (1.0, 0.8413), (1.2816, 0.90), (1.6449, 0.95), (2.3263, 0.99)],
)
def test_the_chance_is_the_upper_tail_of_the_table(z: float, phi: float) -> None:
    over = probability_undersized(coil_mm=VEIN_MM + z * SD_MM, relaxed_mm=VEIN_MM, sd_mm=SD_MM)
    assert over == pytest.approx(1 - phi, abs=TABLE_TOLERANCE)
    under = probability_undersized(coil_mm=VEIN_MM - z * SD_MM, relaxed_mm=VEIN_MM, sd_mm=SD_MM)
    assert under == pytest.approx(phi, abs=TABLE_TOLERANCE)


def test_no_vein_is_narrower_than_nothing() -> None:
    # By hand: mean 1, sd 1, coil 2. (1 - Phi(1)) / Phi(1) = 0.1587 / 0.8413 = 0.1886.
    chance = probability_undersized(coil_mm=2.0, relaxed_mm=1.0, sd_mm=1.0)
    assert chance == pytest.approx(0.1587 / 0.8413, abs=1e-4)


@given(coil_mm=st.floats(0.5, 20), relaxed_mm=st.floats(0.5, 15), relative_sd=st.floats(0.01, 1.5))
def test_the_chance_equals_a_reference_library_s(
    coil_mm: float, relaxed_mm: float, relative_sd: float
) -> None:
    sd_mm = relative_sd * relaxed_mm
    reference = truncnorm(-relaxed_mm / sd_mm, float("inf"), loc=relaxed_mm, scale=sd_mm)
    ours = probability_undersized(coil_mm=coil_mm, relaxed_mm=relaxed_mm, sd_mm=sd_mm)
    assert ours == pytest.approx(float(reference.sf(coil_mm)), rel=1e-6, abs=1e-12)


@given(
    relaxed_mm=st.floats(1, 15),
    over_mm=st.floats(0.01, 8),
    sd_mm=st.floats(0.01, 5),
    scale=st.floats(1, 10),
)
def test_being_less_sure_never_makes_a_coil_wider_than_the_vein_look_safer(
    relaxed_mm: float, over_mm: float, sd_mm: float, scale: float
) -> None:
    coil_mm = relaxed_mm + over_mm
    sure = probability_undersized(coil_mm=coil_mm, relaxed_mm=relaxed_mm, sd_mm=sd_mm)
    unsure = probability_undersized(coil_mm=coil_mm, relaxed_mm=relaxed_mm, sd_mm=sd_mm * scale)
    assert unsure >= sure * (1 - 1e-12)


def test_without_uncertainty_the_answer_is_plain() -> None:
    assert probability_undersized(coil_mm=5.9, relaxed_mm=6.0, sd_mm=0.0) == 1.0
    assert probability_undersized(coil_mm=6.0, relaxed_mm=6.0, sd_mm=0.0) == 0.0


def test_narrower_and_wider_are_all_there_is() -> None:
    wider = probability_undersized(coil_mm=5.5, relaxed_mm=6.0, sd_mm=0.5)
    assert probability_narrower(than_mm=5.5, relaxed_mm=6.0, sd_mm=0.5) == 1 - wider
    assert probability_narrower(than_mm=-1.0, relaxed_mm=6.0, sd_mm=0.5) == 0.0


@pytest.mark.parametrize(
    ("coil_mm", "relaxed_mm", "sd_mm"), [(0, 6, 1), (8, 0, 1), (8, 6, -1), (8, 6, float("nan"))]
)
def test_impossible_figures_are_refused(coil_mm: float, relaxed_mm: float, sd_mm: float) -> None:
    with pytest.raises(ValueError, match=r"must be positive|cannot be negative"):
        probability_undersized(coil_mm=coil_mm, relaxed_mm=relaxed_mm, sd_mm=sd_mm)
