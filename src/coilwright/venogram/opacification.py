"""One picture of the contrast at its height, and how noisy it is."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from coilwright.venogram.mean_picture import mean_of

Float = npt.NDArray[np.float32]

# Frames are shrunk to about this size, or to half, to see how far the tree is filled.
FILLING_SIZE_PX = 256


@dataclass(frozen=True, slots=True, kw_only=True)
class Opacification:
    """``picture`` is the mean of ``frames`` (indices); ``noise_sd`` that of one of its pixels."""

    picture: Float
    frames: tuple[int, ...]
    noise_sd: float

    @property
    def contrast_to_noise(self) -> float:
        """Strongest opacity over the noise of a pixel."""
        return float(np.percentile(self.picture[::2, ::2], 99.8)) / max(self.noise_sd, 1e-9)


def opacify(subtracted: Float, mask_frames: tuple[int, ...]) -> Opacification:
    """Mean of the frames in which the tree is filled best.

    A frame counts when the opacity summed over whatever ever fills is at least nine tenths of the
    greatest: the front has then gone as far as it goes in this run.
    """
    strength = filling(subtracted)
    full = np.flatnonzero(strength >= 0.9 * strength.max())
    frames = tuple(int(t) for t in full if t not in mask_frames) or (int(strength.argmax()),)
    picture = mean_of(subtracted, frames)
    return Opacification(picture=picture, frames=frames, noise_sd=pixel_noise(picture))


def filling(subtracted: Float) -> npt.NDArray[np.float64]:
    """Opacity per frame, averaged over the pixels that fill at some time, (frames,)."""
    share = 1 / max(2, min(subtracted.shape[1:]) // FILLING_SIZE_PX)
    small = np.stack([_shrunk(frame, share) for frame in subtracted])
    peak = small.max(0)
    fills = peak > 0.4 * np.percentile(peak, 99.8)
    return np.asarray(small[:, fills].mean(1), dtype=np.float64)


def _shrunk(frame: Float, share: float) -> Float:
    small = cv2.resize(frame, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
    return np.asarray(cv2.GaussianBlur(small, (0, 0), 1.5), dtype=np.float32)


def pixel_noise(picture: Float) -> float:
    """Standard deviation of white noise in one pixel, from the finest diagonal detail.

    References
    ----------
    Median of absolute diagonal differences over 0.6745: Donoho DL, Johnstone IM. Ideal spatial
    adaptation by wavelet shrinkage. Biometrika 1994;81:425-455.
    """
    detail = (
        picture[:-1:2, :-1:2] - picture[1::2, :-1:2] - picture[:-1:2, 1::2] + picture[1::2, 1::2]
    ) / 2.0
    return float(np.median(np.abs(detail)) / 0.6745) + 1e-9
