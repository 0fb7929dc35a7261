"""Blur, scatter and noise against their defining laws."""

from dataclasses import replace

import numpy as np
import pytest

from coilwright.phantom.detector import BlurKernel, Detector

PLAIN = Detector(
    blur_mm=0.25,
    kernel=BlurKernel.GAUSSIAN,
    scatter_share=0.25,
    scatter_mm=40.0,
    quanta_per_pixel=1000.0,
    electronic_quanta=0.0,
)


def test_gaussian_blur_lowers_a_wave_by_its_transfer() -> None:
    # By hand: sigma 0.25 mm, 1 cycle/mm: exp(-2 * pi**2 * 0.25**2) = exp(-1.2337) = 0.2912.
    x_mm = np.arange(400) * 0.1
    wave = np.tile(1.0 + 0.5 * np.cos(2 * np.pi * x_mm), (80, 1))
    blurred = PLAIN.blurred(wave, 0.1)[40, 100:300]
    assert (blurred.max() - blurred.min()) / 2 == pytest.approx(0.5 * 0.2912, abs=2e-4)


def test_gaussian_blur_of_an_edge_is_the_normal_distribution() -> None:
    # One sigma (5 px) inside an edge the normal distribution gives 0.8413, one sigma outside
    # 0.1587 (standard table). The edge lies on the boundary between pixels 99 and 100, so the
    # mean of pixels 104 and 105 straddles +1 sigma. 2e-3 is for the pixel's own width.
    edge = np.tile(np.where(np.arange(200) < 100, 0.0, 1.0), (60, 1))
    row = PLAIN.blurred(edge, 0.05)[30]
    assert (row[104] + row[105]) / 2 == pytest.approx(0.8413, abs=2e-3)
    assert (row[94] + row[95]) / 2 == pytest.approx(0.1587, abs=2e-3)


@pytest.mark.parametrize("kernel", list(BlurKernel))
def test_blur_keeps_the_total(kernel: BlurKernel) -> None:
    spot = np.zeros((160, 160))
    spot[80, 80] = 1.0
    blurred = replace(PLAIN, kernel=kernel).blurred(spot, 0.3)
    # The long tails lose a little beyond the border: 3 % at most.
    assert blurred.sum() == pytest.approx(1.0, abs=0.03)
    assert blurred.max() < 1.0


def test_kernels_meet_where_the_gaussian_transfer_is_one_half() -> None:
    # By hand: exp(-2 (pi sigma f)**2) = 1/2 at f = sqrt(ln 2 / 2) / (pi sigma) = 0.7496 /mm.
    for kernel in (BlurKernel.GAUSSIAN, BlurKernel.EXPONENTIAL_MTF):
        half = replace(PLAIN, kernel=kernel).transfer(np.array([0.7496]))
        assert half == pytest.approx([0.5], abs=1e-4)


def test_scatter_of_an_even_beam_is_its_share() -> None:
    scatter = PLAIN.scattered(np.full((96, 96), 2.0), 0.3)
    assert scatter == pytest.approx(np.full((96, 96), 0.5), abs=1e-9)


def test_photon_noise_has_a_variance_equal_to_its_mean() -> None:
    # Poisson's law. 250 000 pixels: the variance is known to sqrt(2 / n) = 0.28 %, the mean to
    # 0.006 %; the tolerances are about five standard deviations.
    counts = PLAIN.counted(np.full((500, 500), 1000.0), np.random.default_rng(3))
    assert counts.mean() == pytest.approx(1000.0, rel=4e-4)
    assert counts.var() == pytest.approx(1000.0, rel=0.015)


def test_electronic_noise_adds_its_variance() -> None:
    # 100 quanta and 20 quanta of electronic noise: 100 + 400 = 500; sqrt(2 / n) = 0.28 %.
    noisy = replace(PLAIN, electronic_quanta=20.0)
    counts = noisy.counted(np.full((500, 500), 100.0), np.random.default_rng(4))
    assert counts.var() == pytest.approx(500.0, rel=0.015)
