"""Rendered pictures against the law of absorption, worked by hand."""

from dataclasses import replace

import numpy as np
import pytest

from coilwright.phantom import Scene, expected_quanta, render
from coilwright.phantom.detector import BlurKernel

# The scene's vein absorbs 0.1 /mm and is 4 mm wide; a pixel is 0.22 * 750 / 1100 = 0.15 mm there.
PER_MM, RADIUS_MM, PITCH_MM = 0.1, 2.0, 0.15
MIDDLE_ROW, MIDDLE_COLUMN = 32, 48


def transmission_row(scene: Scene) -> np.ndarray:
    frames = list(expected_quanta(scene))
    return np.asarray(frames[-1][MIDDLE_ROW] / frames[0][MIDDLE_ROW])


@pytest.mark.parametrize("aside_px", [0, 4, 8, 10])
def test_intensity_behind_a_vein_is_exp_of_minus_absorption_times_chord(
    straight_scene: Scene, aside_px: int
) -> None:
    # By hand: 4 px = 0.6 mm aside: 2 * sqrt(4 - 0.36) = 3.8158 mm, exp(-0.38158) = 0.6828.
    # The mean over a pixel differs from its middle by less than 1e-3 this far from the wall.
    chord_mm = 2 * np.sqrt(RADIUS_MM**2 - (aside_px * PITCH_MM) ** 2)
    row = transmission_row(straight_scene)
    assert row[MIDDLE_COLUMN + aside_px] == pytest.approx(np.exp(-PER_MM * chord_mm), abs=1e-3)


def test_the_beam_beside_the_vein_is_untouched(straight_scene: Scene) -> None:
    # 16 px = 2.4 mm aside, beyond the radius of 2 mm.
    row = transmission_row(straight_scene)
    assert row[MIDDLE_COLUMN + 16] == 1.0
    assert row[MIDDLE_COLUMN - 16] == 1.0


def test_optical_depth_across_the_vein_adds_up_to_the_circle(straight_scene: Scene) -> None:
    # Integral of absorption * chord = 0.1 /mm * pi * (2 mm)**2 = 1.2566 mm. Averaging intensity
    # (not depth) over wall pixels loses a little: 0.5 %.
    row = transmission_row(straight_scene)
    assert float(np.sum(-np.log(row))) * PITCH_MM == pytest.approx(1.2566, rel=5e-3)


def test_frames_before_the_injection_show_no_contrast(straight_scene: Scene) -> None:
    frames = list(expected_quanta(straight_scene))
    assert np.array_equal(frames[0], frames[2])
    assert render(straight_scene).truth.first_contrast_frame == 3


def test_the_vein_breathes_with_the_body(breathing_scene: Scene) -> None:
    # The vein runs along the shift, so only its walls could show it: sideways nothing moves, and
    # at 1 s (a quarter of the 4 s period) the truth says 1 mm / 0.15 mm = 6.667 px down.
    truth = render(breathing_scene).truth
    (_, _, right_px), (_, _, down_px) = truth.to_frame_px[2]
    assert right_px == pytest.approx(0.0, abs=1e-6)
    assert down_px == pytest.approx(6.667, abs=1e-3)


def test_a_sideways_breath_moves_the_picture_of_the_vein(breathing_scene: Scene) -> None:
    # A vein across the shift: turned on its side, it is carried 1 mm down, 6.667 px.
    trunk = breathing_scene.trunk
    lying = replace(trunk, knots_mm=tuple((y, x, z) for x, y, z in trunk.knots_mm))
    scene = replace(
        breathing_scene,
        veins=(lying,),
        injection=replace(breathing_scene.injection, start_s=-3.0),
    )
    frames = list(expected_quanta(scene))
    depth = [-np.log(frame[:, 80] / frame.max()) for frame in (frames[0], frames[2])]
    rows = np.arange(len(depth[0]))
    rest_px, breath_px = (float(np.sum(rows * column) / np.sum(column)) for column in depth)
    assert breath_px - rest_px == pytest.approx(6.667, abs=0.02)


def test_blur_spreads_the_wall_but_keeps_the_middle_of_a_wide_vein(straight_scene: Scene) -> None:
    detector = replace(straight_scene.detector, blur_mm=0.3, kernel=BlurKernel.GAUSSIAN)
    sharp, soft = (
        transmission_row(scene)
        for scene in (straight_scene, replace(straight_scene, detector=detector))
    )
    # Wall at 13.33 px: 14 px aside the sharp beam is whole, the blurred one is not.
    assert sharp[MIDDLE_COLUMN + 15] == 1.0
    assert soft[MIDDLE_COLUMN + 15] < 0.995
    assert soft[MIDDLE_COLUMN] == pytest.approx(sharp[MIDDLE_COLUMN], abs=2e-3)


def test_stored_lin_pixels_carry_the_same_ratio(straight_scene: Scene) -> None:
    # exp(-0.1 * 4) = 0.6703 on the axis (0.6705 as the mean over a pixel of 0.15 mm); 16 bits.
    frames = render(straight_scene).frames.astype(float)
    ratio = frames[-1, MIDDLE_ROW, MIDDLE_COLUMN] / frames[0, MIDDLE_ROW, MIDDLE_COLUMN]
    assert ratio == pytest.approx(np.exp(-0.4), abs=5e-4)


def test_the_same_seed_gives_the_same_pixels_and_another_seed_does_not(
    straight_scene: Scene,
) -> None:
    noisy = replace(
        straight_scene,
        detector=replace(straight_scene.detector, photon_noise=True, quanta_per_pixel=500.0),
    )
    first, second, other = (render(scene) for scene in (noisy, noisy, replace(noisy, seed=2)))
    assert np.array_equal(first.frames, second.frames)
    assert not np.array_equal(first.frames, other.frames)


def test_noise_in_a_stored_run_follows_poisson(straight_scene: Scene) -> None:
    # 400 quanta stored at 0.3 * 65535 = 19660.5 for the median: 49.15 steps per quantum. In the
    # open beam of 6 frames x 65 x 20 pixels the variance over the mean is one quantum;
    # sqrt(2 / 7800) = 1.6 %, tolerance five of them.
    noisy = replace(
        straight_scene,
        detector=replace(straight_scene.detector, photon_noise=True, quanta_per_pixel=400.0),
    )
    open_beam = render(noisy).frames[:, :, :20].astype(float) / (0.3 * 65535 / 400.0)
    assert open_beam.mean() == pytest.approx(400.0, rel=0.01)
    assert open_beam.var() / open_beam.mean() == pytest.approx(1.0, rel=0.08)
