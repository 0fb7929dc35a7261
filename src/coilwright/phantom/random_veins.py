"""Vein trees drawn at random."""

import numpy as np

from coilwright.phantom.course import Course, course_through
from coilwright.phantom.geometry import Cone
from coilwright.phantom.scene import Level
from coilwright.phantom.vein import Spasm, Vein
from coilwright.phantom.vein_tree import (
    Bend,
    crossing_vein,
    duplicate_vein,
    renal_stub,
    side_vein,
    tangle_vein,
    trunk_vein,
)

_CALIBRE_KNOTS = 9
_MIN_MM, _MAX_MM = 2.5, 8.0


def random_trunk(random: np.random.Generator, cone: Cone, level: Level) -> Vein:
    """A trunk with its ostium near the top of the picture."""
    height_mm = cone.rows * cone.isocentre_mm_per_pixel
    width_mm = cone.columns * cone.isocentre_mm_per_pixel
    top_mm = float(random.uniform(0.09, 0.17)) * height_mm
    descent_mm = float(random.uniform(max(120.0, 0.8 * height_mm), 260.0))
    descent_mm = min(descent_mm, height_mm - top_mm + 30.0)
    bends = tuple(
        Bend(
            amplitude_mm=float(random.uniform(0.25, 1.0)) * most_mm,
            wavelength_mm=float(random.uniform(*lengths_mm)),
            phase_rad=float(random.uniform(0, 2 * np.pi)),
        )
        for most_mm, lengths_mm in ((6.0, (110.0, 220.0)), (1.8, (45.0, 80.0)))
    )
    narrowed = random.uniform() < (0.5 if level is not Level.STILL else 0.35)
    return trunk_vein(
        ostium_mm=(
            float(random.uniform(-0.12, 0.08)) * width_mm,
            top_mm - height_mm / 2,
            float(random.uniform(-15.0, 15.0)),
        ),
        descent_mm=descent_mm,
        lateral_mm=float(random.uniform(-0.02, 0.2)) * width_mm,
        forward_mm=float(random.uniform(0.0, 50.0)) * float(random.choice([1.0, 1.0, -1.0])),
        bends=bends,
        relaxed_diameters_mm=_trunk_calibre_mm(random),
        spasm=_spasm(random, descent_mm) if narrowed else None,
    )


def _trunk_calibre_mm(random: np.random.Generator) -> tuple[float, ...]:
    start_mm = random.uniform(3.2, 7.5)
    taper = random.uniform(-0.35, 0.1) * np.linspace(0.0, 1.0, _CALIBRE_KNOTS)
    waves = np.cumsum(random.normal(0.0, 0.035, _CALIBRE_KNOTS))
    calibre_mm = np.clip(start_mm * (1.0 + taper + waves - waves[0]), _MIN_MM, _MAX_MM)
    return tuple(float(value) for value in calibre_mm)


def _spasm(random: np.random.Generator, descent_mm: float) -> Spasm:
    return Spasm(
        centre_mm=float(random.uniform(0.35, 0.75)) * descent_mm,
        half_length_mm=float(random.uniform(6.0, 16.0)),
        share=float(random.uniform(0.2, 0.45)),
    )


def random_veins(
    random: np.random.Generator, trunk: Vein, cone: Cone, level: Level, after_s: float
) -> tuple[Vein, ...]:
    """The trunk and everything beside it; ``after_s`` is the time left once contrast flows."""
    whole = trunk.course()
    course = _shown(whole, cone)
    side = int(random.choice([-1, 1]))
    duplicates = _duplicates(random, course, side)
    veins = [trunk, *duplicates]
    veins += _side_veins(random, course, duplicates)
    if level is Level.HARD or random.uniform() < 0.15:
        veins.append(_crossing(random, course, after_s))
    if level is Level.HARD and random.uniform() < 0.7:
        veins.append(_tangle(random, course))
    if level is not Level.STILL and random.uniform() < 0.4:
        veins.append(renal_stub(trunk=whole, reach_mm=26.0, diameter_mm=9.0))
    return tuple(veins)


def _shown(trunk: Course, cone: Cone) -> Course:
    """The part of the trunk that is in the picture, so that everything leaves it there."""
    shown = cone.project_px(trunk.points_mm)[:, 1] < cone.rows
    return course_through(trunk.points_mm[shown], trunk.radius_mm[shown])


def _duplicates(random: np.random.Generator, trunk: Course, side: int) -> list[Vein]:
    count = int(random.choice([0, 1, 2], p=[0.4, 0.4, 0.2]))
    found = []
    for number in range(count):
        first = 0.3 + 0.33 * number
        starts_mm = float(random.uniform(first, first + 0.05)) * trunk.length_mm
        ends_mm = starts_mm + float(random.uniform(0.2, 0.25 if count > 1 else 0.45)) * (
            trunk.length_mm
        )
        diameter_mm = float(random.uniform(1.5, 4.0))
        widest_mm = 2.0 * float(trunk.radius_mm.max())
        found.append(
            duplicate_vein(
                name=f"duplicate-{number + 1}",
                trunk=trunk,
                leaves_at_mm=starts_mm,
                rejoins_at_mm=min(ends_mm, trunk.length_mm - 4.0),
                side=side,
                apart_mm=(widest_mm + diameter_mm) / 2 + float(random.uniform(2.0, 5.0)),
                depth_mm=float(random.uniform(-5.0, 5.0)),
                bend=Bend(
                    amplitude_mm=float(random.uniform(0.2, 1.2)),
                    wavelength_mm=float(random.uniform(30.0, 60.0)),
                    phase_rad=0.0,
                ),
                relaxed_diameters_mm=tuple(
                    diameter_mm * float(wave) for wave in random.uniform(0.92, 1.08, 4)
                ),
            )
        )
        side = -side
    return found


def _side_veins(random: np.random.Generator, trunk: Course, duplicates: list[Vein]) -> list[Vein]:
    """Up to five, at least 14 mm apart along the trunk, kept off the duplicates' side."""
    count = int(random.integers(0, 6))
    slots_mm = np.linspace(0.12, 0.9, 6) * trunk.length_mm
    found = []
    for number, slot in enumerate(sorted(random.permutation(6)[:count])):
        at_mm = float(slots_mm[slot] + random.uniform(-0.03, 0.03) * trunk.length_mm)
        diameter_mm = float(random.uniform(1.2, 3.0))
        found.append(
            side_vein(
                name=f"side-{number + 1}",
                trunk=trunk,
                leaves_at_mm=at_mm,
                side=_free_side(random, trunk, duplicates, at_mm),
                angle_deg=float(random.uniform(35.0, 75.0)),
                length_mm=float(random.uniform(22.0, 75.0)),
                relaxed_diameters_mm=(diameter_mm, diameter_mm, 0.8 * diameter_mm),
                strength=float(random.uniform(0.6, 1.0)),
                random=random,
            )
        )
    return found


def _free_side(
    random: np.random.Generator, trunk: Course, duplicates: list[Vein], at_mm: float
) -> int:
    """The side away from a duplicate that begins, runs or ends within reach below."""
    for duplicate in duplicates:
        first_mm, last_mm = (join.at_mm for join in duplicate.joins)
        if first_mm - 35.0 < at_mm < last_mm + 4.0:
            middle = duplicate.knots_mm[len(duplicate.knots_mm) // 2]
            beside = trunk.point_at((first_mm + last_mm) / 2)
            return -1 if middle[0] > beside[0] else 1
    return int(random.choice([-1, 1]))


def _crossing(random: np.random.Generator, trunk: Course, after_s: float) -> Vein:
    return crossing_vein(
        name="crossing-1",
        trunk=trunk,
        crosses_at_mm=float(random.uniform(0.4, 0.85)) * trunk.length_mm,
        slope_deg=float(random.choice([-1.0, 1.0]) * random.uniform(8.0, 50.0)),
        length_mm=float(random.uniform(60.0, 130.0)),
        depth_mm=float(random.choice([-1.0, 1.0]) * random.uniform(12.0, 30.0)),
        diameter_mm=float(random.uniform(1.5, 3.0)),
        enters_after_s=float(random.uniform(0.3, 0.5)) * after_s,
        random=random,
    )


def _tangle(random: np.random.Generator, trunk: Course) -> Vein:
    return tangle_vein(
        name="tangle-1",
        trunk=trunk,
        leaves_at_mm=float(random.uniform(0.5, 0.88)) * trunk.length_mm,
        side=int(random.choice([-1, 1])),
        reach_mm=float(random.uniform(7.0, 12.0)),
        diameter_mm=float(random.uniform(1.2, 2.0)),
        random=random,
    )
