"""Stored values by hand."""

import numpy as np
import pytest

from coilwright.phantom.storage import Relationship, Storage


def test_lin_is_proportional_to_the_beam() -> None:
    # 0.2 * 4095 = 819 at the median, twice that at twice the beam, clipped at 4095.
    storage = Storage(relationship=Relationship.LIN, bits_stored=12, median_share=0.2)
    stored = storage.stored(np.array([[500.0, 1000.0, 0.0, 9000.0]]), median_quanta=500.0)
    assert stored.tolist() == [[819, 1638, 0, 4095]]


def test_log_steps_are_equal_for_equal_ratios() -> None:
    # Six natural-log units over 4095 steps: a factor of two is 4095 / 6 * ln 2 = 473.1 steps.
    storage = Storage(relationship=Relationship.LOG, bits_stored=12)
    low, middle, high = storage.stored(np.array([[250.0, 500.0, 1000.0]]), 500.0)[0].tolist()
    assert middle - low == pytest.approx(473.1, abs=1.0)
    assert high - middle == pytest.approx(473.1, abs=1.0)


def test_a_negative_sign_turns_the_log_scale_over() -> None:
    quanta = np.array([[250.0, 500.0, 1000.0]])
    plus = Storage(relationship=Relationship.LOG, bits_stored=12).stored(quanta, 500.0)
    minus = Storage(relationship=Relationship.LOG, bits_stored=12, sign=-1).stored(quanta, 500.0)
    assert plus.astype(int) + minus.astype(int) == pytest.approx(np.full((1, 3), 4095), abs=1)


def test_display_values_stay_in_eight_bits_and_keep_the_order_of_brightness() -> None:
    storage = Storage(relationship=Relationship.DISP, bits_stored=8)
    even = np.full((32, 32), 500.0)
    dark, bright = (int(storage.stored(even * share, 500.0)[16, 16]) for share in (0.5, 2.0))
    assert 0 < dark < bright < 255


@pytest.mark.parametrize("bits", [7, 11, 14])
def test_bits_that_the_standard_does_not_allow_for_xa_are_refused(bits: int) -> None:
    # PS3.3 C.8.7.1: Bits Stored is 8, 10, 12 or 16.
    with pytest.raises(ValueError, match="8, 10, 12 or 16"):
        Storage(relationship=Relationship.LIN, bits_stored=bits)


def test_a_falling_lin_scale_is_refused() -> None:
    with pytest.raises(ValueError, match="its sign is"):
        Storage(relationship=Relationship.LIN, bits_stored=12, sign=-1)
