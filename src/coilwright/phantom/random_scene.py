"""Scenes drawn at random from one seed, widely, at a level of difficulty."""

import numpy as np

from coilwright.phantom.anatomy import Anatomy
from coilwright.phantom.catheter import Approach, Catheter
from coilwright.phantom.contrast import IODINE_CM2_PER_G, Injection
from coilwright.phantom.detector import BlurKernel, Detector
from coilwright.phantom.geometry import Cone
from coilwright.phantom.motion import Motion
from coilwright.phantom.random_veins import random_trunk, random_veins
from coilwright.phantom.scene import Level, Scene
from coilwright.phantom.storage import Relationship, Storage
from coilwright.phantom.vein import Vein

_SCENE_STREAM = 1


def random_scene(seed: int, level: Level) -> Scene:
    """A scene drawn from a seed; the same seed and level give the same scene."""
    random = np.random.default_rng([seed, _SCENE_STREAM, list(Level).index(level)])
    cone = _cone(random)
    frames = int(random.integers(12, 41))
    frames_per_s = float(random.choice([2.0, 3.0, 3.75, 4.0, 5.0, 6.0, 7.5]))
    trunk = random_trunk(random, cone, level)
    catheter = _catheter(random, cone)
    injection = _injection(random, trunk, catheter, frames, frames_per_s, level)
    length_s = frames / frames_per_s
    veins = random_veins(random, trunk, cone, level, length_s - injection.start_s)
    anatomy, ring_mm = _anatomy(random, seed, cone, trunk)
    return Scene(
        name=f"{level.value}-{seed}",
        seed=seed,
        level=level,
        cone=cone,
        frames=frames,
        frames_per_s=frames_per_s,
        veins=veins,
        catheter=catheter,
        injection=injection,
        anatomy=anatomy,
        motion=_motion(random, level),
        detector=_detector(random, level),
        storage=_storage(random),
        ring_mm=ring_mm,
        # A moving tree is worked out again for every frame.
        supersampling=4 if level is Level.STILL else 3,
    )


def _cone(random: np.random.Generator) -> Cone:
    """A geometry whose picture is 130 to 300 mm high at the isocentre."""
    while True:
        rows = int(random.choice([512, 640, 768, 880, 1024]))
        columns = rows if random.uniform() < 0.8 else int(random.choice([512, 768, 1024]))
        sod_mm = float(random.uniform(700.0, 850.0))
        cone = Cone(
            source_to_detector_mm=round(float(random.uniform(max(950.0, sod_mm + 180.0), 1200.0))),
            source_to_isocentre_mm=round(sod_mm),
            imager_spacing_mm=round(float(random.uniform(0.15, 0.40)), 3),
            rows=rows,
            columns=columns,
        )
        if (
            130.0 <= rows * cone.isocentre_mm_per_pixel <= 300.0
            and columns * cone.isocentre_mm_per_pixel >= 110.0
            and 0.10 <= cone.isocentre_mm_per_pixel <= 0.34
        ):
            return cone


def _catheter(random: np.random.Generator, cone: Cone) -> Catheter:
    size_fr = float(random.choice([4.0, 5.0, 6.0], p=[0.3, 0.5, 0.2]))
    most_mm = min(1.2, size_fr / 3.0 - 0.36)
    height_mm = cone.rows * cone.isocentre_mm_per_pixel
    deep = random.uniform() < 0.85
    return Catheter(
        size_fr=size_fr,
        lumen_mm=round(float(random.uniform(0.9, most_mm)), 3),
        wall_per_mm=round(float(random.uniform(0.2, 0.6)), 3),
        approach=Approach(str(random.choice(list(Approach)))),
        tip_mm=round(float(random.uniform(15.0, min(60.0, 0.3 * height_mm)) if deep else 2.0), 1),
        cava_mm=float(random.uniform(48.0, 78.0)),
        cava_depth_mm=float(random.uniform(-25.0, 12.0)),
        renal_slope_mm=float(random.uniform(-4.0, 12.0)),
        renal_arch_mm=float(random.uniform(0.0, 9.0)),
        lean=float(random.uniform(0.0, 0.9)),
        swing_mm=float(random.uniform(35.0, 70.0)),
    )


def _injection(
    random: np.random.Generator,
    trunk: Vein,
    catheter: Catheter,
    frames: int,
    frames_per_s: float,
    level: Level,
) -> Injection:
    """An injection that fills the trunk well before the run ends."""
    first_frame = float(random.uniform(3.0, max(3.5, min(8.0, 0.35 * frames))))
    left_s = (frames - first_frame) / frames_per_s
    rise_s = float(random.uniform(0.1, 0.2)) * left_s
    down_mm = trunk.course().length_mm - catheter.tip_mm
    down_mm_per_s = down_mm / (float(random.uniform(0.25, 0.5)) * left_s)
    # A filled vein of 4 mm has an optical depth of 0.2 to 0.9.
    vein_per_mm = float(random.uniform(0.07, 0.22))
    return Injection(
        start_s=first_frame / frames_per_s,
        vein_mg_i_per_ml=vein_per_mm * 1e4 / IODINE_CM2_PER_G,
        lumen_mg_i_per_ml=float(random.uniform(240.0, 350.0)),
        down_mm_per_s=down_mm_per_s,
        up_mm_per_s=down_mm_per_s * float(random.uniform(0.5, 0.9)),
        rise_s=rise_s,
        stop_s=_stop_s(random, first_frame / frames_per_s, left_s),
        washout_s=float(random.uniform(2.0, 6.0)) * max(1.0, left_s / 4.0),
        streaming=float(random.uniform(0.1, 0.35)) if level is Level.HARD else 0.0,
    )


def _stop_s(random: np.random.Generator, start_s: float, left_s: float) -> float | None:
    return start_s + 0.8 * left_s if random.uniform() < 0.35 else None


def _anatomy(
    random: np.random.Generator, seed: int, cone: Cone, trunk: Vein
) -> tuple[Anatomy, float | None]:
    """A body about the trunk, and the internal ring's place along it if it is in the picture."""
    course = trunk.course()
    ostium = course.points_mm[0]
    pitch_mm = float(random.uniform(31.0, 37.0))
    scale = float(random.uniform(0.82, 1.0))
    blades_px = (0, 0, 0, 0)
    if random.uniform() < 0.4:
        left, top, right, bottom = (int(edge) for edge in random.integers(4, 22, 4))
        blades_px = (left, top, right, bottom)
    table = cone.columns * cone.isocentre_mm_per_pixel * float(random.uniform(0.3, 0.48))
    anatomy = Anatomy(
        seed=seed,
        midline_mm=float(ostium[0]) - float(random.uniform(30.0, 42.0)),
        sacrum_mm=float(ostium[1]) + float(random.uniform(3.0, 3.6)) * pitch_mm,
        vertebra_pitch_mm=pitch_mm,
        pelvis_scale=scale,
        bone_gain=float(random.uniform(0.6, 1.2)),
        tissue_gain=float(random.uniform(0.6, 1.2)),
        texture=float(random.uniform(0.01, 0.04)),
        gas_bubbles=int(random.integers(0, 26)),
        table_edge_mm=table if random.uniform() < 0.3 else None,
        blades_px=blades_px,
    )
    ring_mm = 0.94 * course.length_mm if course.length_mm > 170.0 else None
    return anatomy, ring_mm


def _motion(random: np.random.Generator, level: Level) -> Motion:
    period_s, phase_rad = float(random.uniform(3.0, 6.0)), float(random.uniform(0, 2 * np.pi))
    match level:
        case Level.STILL:
            return Motion()
        case Level.BREATHING:
            return Motion(
                amplitude_mm=float(random.uniform(0.3, 2.0)),
                period_s=period_s,
                phase_rad=phase_rad,
                gas_drift_mm=float(random.uniform(0.5, 4.0)),
            )
        case Level.HARD:
            return Motion(
                amplitude_mm=float(random.uniform(1.5, 4.0)),
                period_s=period_s,
                phase_rad=phase_rad,
                sideways_share=float(random.uniform(0.2, 0.6)),
                turn_deg=float(random.uniform(0.2, 1.0)),
                gas_drift_mm=float(random.uniform(2.0, 8.0)),
            )


def _detector(random: np.random.Generator, level: Level) -> Detector:
    ripple = {Level.STILL: 0.004, Level.BREATHING: 0.01, Level.HARD: 0.025}[level]
    return Detector(
        blur_mm=float(random.uniform(0.15, 0.45)),
        kernel=BlurKernel(str(random.choice(list(BlurKernel), p=[0.6, 0.25, 0.15]))),
        scatter_share=float(random.uniform(0.05, 0.4)),
        scatter_mm=float(random.uniform(30.0, 90.0)),
        quanta_per_pixel=float(np.exp(random.uniform(np.log(300.0), np.log(20000.0)))),
        electronic_quanta=float(random.uniform(1.0, 5.0)),
        output_ripple=float(random.uniform(0.0, ripple)),
    )


def _storage(random: np.random.Generator) -> Storage:
    relationship = Relationship(str(random.choice([Relationship.LIN, Relationship.LOG])))
    bits = [10, 12, 16]
    sign = int(random.choice([1, -1], p=[0.6, 0.4]))
    return Storage(
        relationship=relationship,
        bits_stored=int(random.choice(bits, p=[0.2, 0.55, 0.25])),
        sign=sign if relationship is Relationship.LOG else 1,
        median_share=float(random.uniform(0.2, 0.4)),
    )
