"""The mean of some frames of a run."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Float = npt.NDArray[np.float32]


def mean_of(frames: Float, numbers: Sequence[int]) -> Float:
    """Mean of the numbered frames (rows, columns), without a copy of them all."""
    total: Float = frames[numbers[0]].copy()
    for number in numbers[1:]:
        total += frames[number]
    total /= np.float32(len(numbers))
    return total
