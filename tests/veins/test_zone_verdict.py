"""What may be said of a zone: the practitioner's review, item by item."""

from dataclasses import replace

import pytest

from coilwright.veins import Band, ZoneState
from coilwright.veins.comparison import band_of
from coilwright.veins.zone_verdict import Residual, Setting, ZoneSeen, residual_band, verdict

SHUT = ZoneSeen(
    in_picture=True, came_through=False, reached=True, residual=Residual(share=0.02, sd=0.01)
)
GOOD = Setting(not_comparable=None, no_reflux_view=None, ostium_on_map=True, ostium_reached=True)


def test_shut_needs_contrast_above_and_none_below() -> None:
    assert verdict(SHUT, GOOD)[0] is ZoneState.SHUT


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        (replace(GOOD, ostium_reached=False), "not shown: inject the renal vein with Valsalva"),
        (replace(GOOD, ostium_reached=None), "not shown: inject the renal vein with Valsalva"),
        (replace(GOOD, ostium_on_map=False), "no ostium, so reflux may come by a collateral"),
        (replace(GOOD, no_reflux_view="injected inside"), "inject the renal vein with Valsalva"),
        (replace(GOOD, not_comparable="Valsalva differ"), "not comparable with the run before"),
    ],
)
def test_what_looks_shut_is_not_shown_where_it_was_not_tried(setting: Setting, words: str) -> None:
    state, text = verdict(SHUT, setting)
    assert state is ZoneState.NOT_SHOWN
    assert words in text


@pytest.mark.parametrize(
    ("seen", "words"),
    [
        (replace(SHUT, reached=False), "contrast was not seen just above it"),
        (replace(SHUT, reached=False, stopped_above="upper level"), "at upper level"),
        (replace(SHUT, in_picture=False), "outside the picture"),
        # 0.02 + 2 * 0.08 = 0.18 is over the 0.15 below which nothing is said to be left.
        (replace(SHUT, residual=Residual(share=0.02, sd=0.08)), "too noisy there to tell"),
        (replace(SHUT, residual=None), "too noisy there to tell"),
    ],
)
def test_what_could_not_be_seen_is_not_called_shut(seen: ZoneSeen, words: str) -> None:
    state, text = verdict(seen, GOOD)
    assert state is ZoneState.NOT_SHOWN
    assert words in text


def test_contrast_that_came_through_is_seen_whatever_the_conditions() -> None:
    seen = replace(SHUT, came_through=True)
    assert verdict(seen, replace(GOOD, not_comparable="x"))[0] is ZoneState.STILL_OPACIFIES


def test_the_band_holds_two_standard_deviations_either_way() -> None:
    # 0.3 - 2 * 0.1 = 0.1 (none seen), 0.3 + 2 * 0.1 = 0.5 (partial).
    band = residual_band(Residual(share=0.3, sd=0.1), GOOD)
    assert band is not None
    assert (band.lowest, band.highest) == (Band.NONE, Band.PARTIAL)


def test_no_band_is_given_for_runs_that_are_not_comparable() -> None:
    assert residual_band(Residual(share=0.3, sd=0.1), replace(GOOD, not_comparable="x")) is None


def test_bands_follow_each_other() -> None:
    shares = [-0.1, 0.149, 0.15, 0.4, 0.8, 1.2]
    assert [band_of(share) for share in shares] == [
        Band.NONE, Band.NONE, Band.FAINT, Band.PARTIAL, Band.AS_BEFORE, Band.AS_BEFORE,
    ]  # fmt: skip
