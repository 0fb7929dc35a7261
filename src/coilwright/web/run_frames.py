"""The frames of a run as pictures: unsubtracted and subtracted, each at one window for all."""

from dataclasses import dataclass
from enum import StrEnum

import cv2
import numpy as np
import numpy.typing as npt

from coilwright.venogram import RunFile
from coilwright.venogram.absorption import absorption
from coilwright.venogram.opacification import filling
from coilwright.venogram.subtraction import subtract

Float = npt.NDArray[np.float32]

# Share of pixels, in percent, left darker and brighter than the window holds: the unsubtracted
# window keeps bone and gas apart, the subtracted one keeps the noise grey and the vein dark.
RAW_WINDOW_PERCENT = (0.5, 99.5)
SUBTRACTED_WINDOW_PERCENT = (1.0, 99.95)
DARKEST, BRIGHTEST = 12.0, 240.0


class FrameView(StrEnum):
    """How a frame is shown."""

    RAW = "raw"
    SUBTRACTED = "subtracted"


@dataclass(frozen=True, slots=True, kw_only=True)
class RunFrames:
    """Every frame as PNG, absorption dark, in the order of the run.

    ``shifts_px`` is what breathing moved each unsubtracted frame by (x, y) against the map's
    grid; subtracted frames already lie in it. ``fullest`` is the frame with most contrast.
    """

    png: dict[FrameView, tuple[bytes, ...]]
    fullest: int
    shifts_px: tuple[tuple[float, float], ...]

    @property
    def count(self) -> int:
        """How many frames the run has."""
        return len(self.shifts_px)


def run_frames(run: RunFile, mask_frames: tuple[int, ...]) -> RunFrames:
    """The pictures of a run, with the mask frames that its map was measured with."""
    absorbed = absorption(run).frames
    subtracted = subtract(absorbed.copy(), mask_frames)
    return RunFrames(
        png={
            FrameView.RAW: _pictures(absorbed, RAW_WINDOW_PERCENT),
            FrameView.SUBTRACTED: _pictures(subtracted.frames, SUBTRACTED_WINDOW_PERCENT),
        },
        fullest=int(filling(subtracted.frames).argmax()),
        shifts_px=tuple((float(x), float(y)) for x, y in np.round(subtracted.shifts_px, 2)),
    )


def _pictures(frames: Float, window_percent: tuple[float, float]) -> tuple[bytes, ...]:
    """PNG of each frame, dark where more is absorbed, one window for the whole run."""
    low, high = np.percentile(frames[:, ::4, ::4], window_percent)
    width = max(float(high - low), 1e-9)
    return tuple(_png(1.0 - np.clip((frame - low) / width, 0.0, 1.0)) for frame in frames)


def _png(share: Float) -> bytes:
    grey = np.rint(DARKEST + (BRIGHTEST - DARKEST) * share).astype(np.uint8)
    done, encoded = cv2.imencode(".png", grey)
    if not done:
        raise RuntimeError("the picture library refused an 8-bit grey picture")
    return encoded.tobytes()
