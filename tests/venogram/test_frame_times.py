import pytest
from pydicom.dataset import Dataset
from pydicom.sequence import Sequence

from coilwright.venogram.frame_times import frame_times


def header(**fields: object) -> Dataset:
    dataset = Dataset()
    for name, value in fields.items():
        setattr(dataset, name, value)
    return dataset


def codes(dataset: Dataset, frames: int) -> list[str]:
    return [notice.code for notice in frame_times(dataset, frames).notices]


def test_frame_time_is_in_milliseconds_from_one_frame_to_the_next() -> None:
    # PS3.3 C.7.6.5.1.1: nominal time per individual frame, in ms.
    assert frame_times(header(FrameTime="250"), 3).times_s == (0.0, 0.25, 0.5)


def test_the_first_increment_of_a_vector_belongs_to_the_first_frame() -> None:
    # PS3.3 C.7.6.5.1.2: "increments (in msec) between frames ... first frame is always zero".
    found = frame_times(header(FrameTimeVector=["0", "500", "250"]), 3)
    assert found.times_s == (0.0, 0.5, 0.75)
    assert found.notices == ()


def test_a_vector_without_its_leading_zero_is_still_read() -> None:
    # Two increments between three frames, summed by hand.
    assert frame_times(header(FrameTimeVector=["500", "250"]), 3).times_s == (0.0, 0.5, 0.75)
    assert frame_times(header(FrameTimeVector="500"), 2).times_s == (0.0, 0.5)


@pytest.mark.parametrize(
    "vector",
    [["0", "500", "250", "100", "50"], ["0", "0", "0"], ["0", "500", "0"], ["0", "-500", "250"]],
)
def test_a_vector_that_cannot_be_right_gives_way_to_frame_time_and_says_so(
    vector: list[str],
) -> None:
    odd = header(FrameTimeVector=vector, FrameTime="500")
    assert frame_times(odd, 3).times_s == (0.0, 0.5, 1.0)
    assert codes(odd, 3) == ["odd-frame-times"]


def test_a_rate_alone_gives_times_and_says_so() -> None:
    # PS3.3 C.7.6.5: Cine Rate in frames per second; 4 per second is 250 ms.
    assert frame_times(header(CineRate=4, FrameTime="0"), 3).times_s == (0.0, 0.25, 0.5)
    assert codes(header(CineRate=4), 3) == ["frame-times-by-rate"]


def test_without_any_timing_nothing_is_invented() -> None:
    assert frame_times(Dataset(), 3).times_s is None
    assert codes(Dataset(), 3) == ["no-frame-times"]
    assert frame_times(Dataset(), 1).times_s == (0.0,)


def enhanced(moments: list[str]) -> Dataset:
    """An enhanced object's per-frame groups with the clock of each frame."""
    dataset = Dataset()
    groups = []
    for moment in moments:
        group = Dataset()
        group.FrameContentSequence = Sequence([header(FrameReferenceDateTime=moment)])
        groups.append(group)
    dataset.PerFrameFunctionalGroupsSequence = Sequence(groups)
    return dataset


def test_the_clock_of_each_frame_gives_times_of_an_enhanced_run() -> None:
    # PS3.3 C.7.6.16.2.2.1; differences by hand, over a full minute.
    run = enhanced(["20250304101559.500000", "20250304101600.000000", "20250304101601.250000"])
    assert frame_times(run, 3).times_s == (0.0, 0.5, 1.75)


def test_a_clock_that_stands_still_is_not_believed() -> None:
    run = enhanced(["20250304101559", "20250304101559", "20250304101559"])
    assert frame_times(run, 3).times_s is None
