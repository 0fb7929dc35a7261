"""Mask frames that a header names: PS3.3 C.7.6.10, where frames count from 1."""

import numpy as np
import numpy.typing as npt
import pytest
from pydicom.dataset import Dataset
from pydicom.sequence import Sequence

from coilwright.venogram.contrast_alone import contrast_alone
from coilwright.venogram.header_mask import HeaderMask, header_mask

FRAMES = 12


def header(*items: Dataset) -> Dataset:
    dataset = Dataset()
    dataset.MaskSubtractionSequence = Sequence(items)
    return dataset


def item(operation: str, frames: list[int] | None = None) -> Dataset:
    dataset = Dataset()
    dataset.MaskOperation = operation
    if frames is not None:
        dataset.MaskFrameNumbers = frames
    return dataset


def test_frames_that_count_from_one_are_counted_from_nought() -> None:
    found = header_mask(header(item("AVG_SUB", [3, 1, 2])), FRAMES)
    assert found == HeaderMask(frames=(0, 1, 2))


def test_a_header_without_a_mask_names_none() -> None:
    assert header_mask(Dataset(), FRAMES) is None
    assert header_mask(header(item("NONE")), FRAMES) is None
    assert header_mask(header(item("AVG_SUB")), FRAMES) is None


@pytest.mark.parametrize("frames", [[0], [13], [1, 99]])
def test_a_frame_that_does_not_exist_cannot_be_used(frames: list[int]) -> None:
    found = header_mask(header(item("AVG_SUB", frames)), FRAMES)
    assert found == HeaderMask(unusable="it names a frame that is none of the 12")


@pytest.mark.parametrize("operation", ["TID", "REV_TID"])
def test_the_change_from_frame_to_frame_is_no_mask(operation: str) -> None:
    found = header_mask(header(item(operation)), FRAMES)
    assert found is not None
    assert found.unusable is not None
    assert "change from frame to frame" in found.unusable


def test_other_masks_for_other_parts_of_a_run_are_not_followed() -> None:
    found = header_mask(header(item("AVG_SUB", [1]), item("AVG_SUB", [7])), FRAMES)
    assert found == HeaderMask(unusable="it names other masks for other parts of the run")


def test_a_sequence_that_is_none_names_no_mask() -> None:
    dataset = Dataset()
    dataset.add_new(0x00286100, "LO", "mask")
    assert header_mask(dataset, FRAMES) is None


def arrivals(first: int, frames: int = FRAMES) -> npt.NDArray[np.float32]:
    """Absorption of a still body with a dark line that is full from frame ``first`` on."""
    random = np.random.default_rng(3)
    body = np.linspace(1.0, 2.0, 256, dtype=np.float32)[None, :].repeat(256, axis=0)
    run = body + random.normal(0.0, 0.01, (frames, 256, 256)).astype(np.float32)
    run[first:, 20:240, 120:132] += np.float32(0.5)
    return run


def codes(subtracted: object) -> list[str]:
    return [notice.code for notice in getattr(subtracted, "notices", ())]


def test_a_mask_among_the_frames_before_contrast_needs_no_word() -> None:
    found = contrast_alone(
        arrivals(5), None, already_subtracted=False, named=HeaderMask(frames=(0,))
    )
    assert set(found.mask_frames) > {0}
    assert codes(found) == []


def test_where_the_run_shows_no_mask_the_header_is_followed_and_it_is_said() -> None:
    # Contrast is there from the second frame on: too few frames before it to tell by the run.
    run = arrivals(1)
    assert contrast_alone(run, None, already_subtracted=False).mask_frames == ()
    found = contrast_alone(run, None, already_subtracted=False, named=HeaderMask(frames=(0,)))
    assert found.mask_frames == (0,)
    assert codes(found) == ["mask-by-header"]
    # The line's own 0.5 nepers, as drawn above.
    assert float(found.frames[3:, 30:230, 122:130].mean()) == pytest.approx(0.5, abs=0.01)


def test_a_mask_with_contrast_in_it_is_not_followed() -> None:
    found = contrast_alone(
        arrivals(5), None, already_subtracted=False, named=HeaderMask(frames=(8,))
    )
    assert 8 not in found.mask_frames
    assert codes(found) == ["mask-of-header-not-used"]
    assert "contrast is there in frame 9" in found.notices[0].text


def test_words_that_cannot_be_used_are_told_with_what_was_done_instead() -> None:
    named = HeaderMask(unusable="it names a frame that is none of the 12")
    found = contrast_alone(arrivals(5), None, already_subtracted=False, named=named)
    assert codes(found) == ["mask-of-header-not-used"]
    assert found.notices[0].text.endswith("served as the mask (frames counted from 1)")


def test_what_the_operator_names_comes_before_the_header() -> None:
    found = contrast_alone(
        arrivals(5), (2, 3), already_subtracted=False, named=HeaderMask(frames=(8,))
    )
    assert (found.mask_frames, codes(found)) == ((2, 3), [])
