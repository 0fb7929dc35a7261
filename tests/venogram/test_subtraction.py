import numpy as np

from coilwright.venogram.subtraction import find_mask_frames, subtract


def run(onset: int, frames: int = 16, noise: float = 0.01) -> np.ndarray:
    """Absorption of bone that stays and a vein that fills from a frame on."""
    random = np.random.default_rng(11)
    stack = random.normal(0, noise, (frames, 256, 256))
    stack[:, 60:120, 40:90] += 0.8
    for frame in range(onset, frames):
        stack[frame, 20:236, 150:160] += 0.4 * min(1.0, (frame - onset + 1) / 3)
    return stack.astype(np.float32)


def test_mask_frames_end_before_contrast_shows() -> None:
    frames = find_mask_frames(run(onset=6))
    assert frames
    assert frames[0] == 0
    assert 3 <= frames[-1] <= 5


def test_contrast_from_the_first_frame_leaves_no_mask() -> None:
    assert find_mask_frames(run(onset=0)) == ()
    assert [n.code for n in subtract(run(onset=0), None).notices] == ["no-mask"]


def test_a_run_in_which_nothing_arrives_says_so() -> None:
    assert find_mask_frames(run(onset=99)) is None
    assert subtract(run(onset=99), None).nothing_arrives


def test_bone_goes_and_contrast_stays() -> None:
    subtracted = subtract(run(onset=6), None)
    last = subtracted.frames[-1]
    assert abs(float(last[60:120, 40:90].mean())) < 0.01
    assert abs(float(last[60:200, 152:158].mean()) - 0.4) < 0.01


def test_the_operators_mask_frames_are_used_as_given() -> None:
    assert subtract(run(onset=6), (1, 3)).mask_frames == (1, 3)
