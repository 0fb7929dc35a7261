"""From the beam behind the patient to counted quanta: blur, scatter, noise."""

from dataclasses import dataclass
from enum import StrEnum

import cv2
import numpy as np
from scipy import fft

from coilwright.phantom.geometry import Floats

_LONG_TAIL_SHARE = 0.15
_LONG_TAIL_FACTOR = 4.0


class BlurKernel(StrEnum):
    """Shape of the spread of focal spot and detector together."""

    GAUSSIAN = "gaussian"
    LONG_TAIL = "long-tail"
    EXPONENTIAL_MTF = "exponential-mtf"


@dataclass(frozen=True, slots=True, kw_only=True)
class Detector:
    """The imaging chain.

    ``blur_mm`` is the standard deviation, at the detector, of the Gaussian spread; the other
    kernels keep the frequency at which its transfer falls to one half. ``scatter_share`` of the
    primary is added, spread over ``scatter_mm``. ``quanta_per_pixel`` is what exposure control
    gives the median pixel of the open field; the tube's output differs from frame to frame by
    ``output_ripple`` (relative standard deviation). Photon noise can be switched off for tests.
    """

    blur_mm: float
    kernel: BlurKernel
    scatter_share: float
    scatter_mm: float
    quanta_per_pixel: float
    electronic_quanta: float
    output_ripple: float = 0.0
    photon_noise: bool = True

    def transfer(self, cycles_per_mm: Floats) -> Floats:
        """Modulation transfer at spatial frequencies."""
        gaussian = np.exp(-2.0 * (np.pi * self.blur_mm * cycles_per_mm) ** 2)
        if self.kernel is BlurKernel.GAUSSIAN or self.blur_mm == 0.0:
            return np.asarray(gaussian)
        half_at = np.sqrt(np.log(2.0) / 2.0) / (np.pi * self.blur_mm)
        exponential = np.exp(-np.log(2.0) * cycles_per_mm / half_at)
        if self.kernel is BlurKernel.EXPONENTIAL_MTF:
            return np.asarray(exponential)
        tail = np.exp(-np.log(2.0) * cycles_per_mm / half_at * _LONG_TAIL_FACTOR)
        return np.asarray((1.0 - _LONG_TAIL_SHARE) * gaussian + _LONG_TAIL_SHARE * tail)

    def blurred(self, intensity: Floats, spacing_mm: float) -> Floats:
        """The picture (R, C) spread by the kernel; the border is mirrored."""
        if self.blur_mm == 0.0:
            return intensity
        rim = int(np.ceil(12.0 * self.blur_mm / spacing_mm)) + 8
        padded = np.pad(intensity, rim, mode="symmetric")
        shape = [fft.next_fast_len(size, real=True) for size in padded.shape]
        spectrum = fft.rfft2(padded, shape)
        down = fft.fftfreq(shape[0], spacing_mm)[:, None]
        across = fft.rfftfreq(shape[1], spacing_mm)[None, :]
        spread = fft.irfft2(spectrum * self.transfer(np.hypot(down, across)), shape)
        rows, columns = intensity.shape
        return np.asarray(spread[rim : rim + rows, rim : rim + columns])

    def scattered(self, primary: Floats, spacing_mm: float) -> Floats:
        """Scatter (R, C): a share of the primary, spread widely."""
        if self.scatter_share == 0.0:
            return np.zeros_like(primary)
        rows, columns = primary.shape
        small = cv2.resize(primary, (columns // 8, rows // 8), interpolation=cv2.INTER_AREA)
        sigma_px = self.scatter_mm / (spacing_mm * 8)
        small = cv2.GaussianBlur(small, (0, 0), sigma_px, borderType=cv2.BORDER_REFLECT)
        wide = cv2.resize(small, (columns, rows), interpolation=cv2.INTER_CUBIC)
        return np.asarray(self.scatter_share * wide, dtype=np.float64)

    def output(self, random: np.random.Generator) -> float:
        """The tube's output in one frame, relative to what was set."""
        return float(np.exp(random.normal(0.0, self.output_ripple)))

    def counted(self, expected: Floats, random: np.random.Generator) -> Floats:
        """Counted quanta (R, C) where ``expected`` arrive on average."""
        counts = expected
        if self.photon_noise:
            counts = random.poisson(np.maximum(expected, 0.0)).astype(np.float64)
        if self.electronic_quanta > 0:
            counts = counts + random.normal(0.0, self.electronic_quanta, expected.shape)
        return counts
