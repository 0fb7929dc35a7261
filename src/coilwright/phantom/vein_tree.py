"""Courses of veins: a trunk, and what leaves it, rejoins it or passes over it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from coilwright.phantom.course import Course, Point3
from coilwright.phantom.geometry import Floats
from coilwright.phantom.vein import Spasm, TrueJoin, Vein, VeinKind
from coilwright.veins import OwnEnd

_KNOT_STEP_MM = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend:
    """One sideways wave of a course."""

    amplitude_mm: float
    wavelength_mm: float
    phase_rad: float

    def aside_mm(self, way_mm: Floats) -> Floats:
        """Sideways shift along the way, zero at its start."""
        turn = 2 * np.pi * way_mm / self.wavelength_mm + self.phase_rad
        return np.asarray(self.amplitude_mm * (np.sin(turn) - np.sin(self.phase_rad)))


def trunk_vein(
    *,
    ostium_mm: Point3,
    descent_mm: float,
    lateral_mm: float,
    forward_mm: float,
    bends: Sequence[Bend],
    relaxed_diameters_mm: tuple[float, ...],
    spasm: Spasm | None,
) -> Vein:
    """The main vein from its ostium towards the feet.

    It drifts by ``lateral_mm`` to the patient's left and comes ``forward_mm`` along the beam.
    """
    down_mm = np.linspace(0.0, descent_mm, max(6, round(descent_mm / _KNOT_STEP_MM)))
    share = _eased(down_mm / descent_mm)
    aside_mm = lateral_mm * share + np.sum([bend.aside_mm(down_mm) for bend in bends], axis=0)
    knots = np.column_stack([aside_mm, down_mm, forward_mm * share]) + np.asarray(ostium_mm)
    return Vein(
        id="trunk",
        kind=VeinKind.TRUNK,
        knots_mm=_knots(knots),
        relaxed_diameters_mm=relaxed_diameters_mm,
        spasm=spasm,
    )


def side_vein(
    *,
    name: str,
    trunk: Course,
    leaves_at_mm: float,
    side: int,
    angle_deg: float,
    length_mm: float,
    relaxed_diameters_mm: tuple[float, ...],
    strength: float,
    random: np.random.Generator,
) -> Vein:
    """A vein that leaves the trunk to one side (+1 patient's left) and goes its own way.

    ``angle_deg`` is its first heading away from straight down; it wanders but keeps outwards.
    """
    steps = max(4, round(length_mm / _KNOT_STEP_MM))
    heading = np.clip(angle_deg + np.cumsum(random.normal(0.0, 9.0, steps)), 22.0, 118.0)
    # The first steps keep the heading so that the vein comes clear of the trunk.
    heading[:2] = angle_deg
    rad, step_mm = np.deg2rad(heading), length_mm / steps
    depth_mm = np.cumsum(random.normal(0.0, 1.2, steps))
    way = np.column_stack(
        [side * np.cumsum(np.sin(rad)) * step_mm, np.cumsum(np.cos(rad)) * step_mm, depth_mm]
    )
    knots = np.vstack([np.zeros(3), way]) + trunk.point_at(leaves_at_mm)
    return Vein(
        id=name,
        kind=VeinKind.SIDE_VEIN,
        knots_mm=_knots(knots),
        relaxed_diameters_mm=relaxed_diameters_mm,
        joins=(TrueJoin(own_end=OwnEnd.START, vessel="trunk", at_mm=leaves_at_mm),),
        strength=strength,
        end_strength=0.35,
    )


def duplicate_vein(
    *,
    name: str,
    trunk: Course,
    leaves_at_mm: float,
    rejoins_at_mm: float,
    side: int,
    apart_mm: float,
    depth_mm: float,
    bend: Bend,
    relaxed_diameters_mm: tuple[float, ...],
) -> Vein:
    """A channel beside the trunk; ``apart_mm`` between the two centrelines where parallel."""
    length_mm = rejoins_at_mm - leaves_at_mm
    along_mm = np.linspace(0.0, length_mm, max(8, round(length_mm / _KNOT_STEP_MM)))
    turn_mm = min(2.2 * apart_mm, 0.4 * length_mm)
    away = _eased(np.clip(np.minimum(along_mm, length_mm - along_mm) / turn_mm, 0.0, 1.0))
    wave_mm = bend.aside_mm(along_mm) * away
    points = np.array([trunk.point_at(leaves_at_mm + float(at)) for at in along_mm])
    tangents = np.array([trunk.tangent_at(leaves_at_mm + float(at)) for at in along_mm])
    across = np.column_stack([tangents[:, 1], -tangents[:, 0], np.zeros(len(points))])
    across /= np.linalg.norm(across, axis=1, keepdims=True)
    aside_mm = side * (apart_mm * away + np.abs(wave_mm))
    knots = points + aside_mm[:, None] * across
    knots[:, 2] += depth_mm * away
    return Vein(
        id=name,
        kind=VeinKind.DUPLICATE,
        knots_mm=_knots(knots),
        relaxed_diameters_mm=relaxed_diameters_mm,
        joins=(
            TrueJoin(own_end=OwnEnd.START, vessel="trunk", at_mm=leaves_at_mm),
            TrueJoin(own_end=OwnEnd.END, vessel="trunk", at_mm=rejoins_at_mm),
        ),
        strength=0.9,
        end_strength=0.9,
    )


def tangle_vein(
    *,
    name: str,
    trunk: Course,
    leaves_at_mm: float,
    side: int,
    reach_mm: float,
    diameter_mm: float,
    random: np.random.Generator,
) -> Vein:
    """A thin vein that leaves the trunk and winds about a place beside it."""
    start = trunk.point_at(leaves_at_mm)
    middle = start + np.array([side * (1.3 * reach_mm + 3.0), 0.8 * reach_mm, 0.0])
    turns = random.integers(12, 19)
    angle = np.linspace(0.0, 2 * np.pi * turns / 4.5, turns) + (np.pi if side > 0 else 0.0)
    radius_mm = reach_mm * random.uniform(0.35, 1.0, turns)
    loops = np.column_stack(
        [
            radius_mm * np.cos(angle),
            1.3 * radius_mm * np.sin(angle),
            random.uniform(-0.7, 0.7, turns) * reach_mm,
        ]
    )
    return Vein(
        id=name,
        kind=VeinKind.TANGLE,
        knots_mm=_knots(np.vstack([start, loops + middle])),
        relaxed_diameters_mm=(diameter_mm, diameter_mm),
        joins=(TrueJoin(own_end=OwnEnd.START, vessel="trunk", at_mm=leaves_at_mm),),
        strength=0.7,
        end_strength=0.5,
    )


def crossing_vein(
    *,
    name: str,
    trunk: Course,
    crosses_at_mm: float,
    slope_deg: float,
    length_mm: float,
    depth_mm: float,
    diameter_mm: float,
    enters_after_s: float,
    random: np.random.Generator,
) -> Vein:
    """A vein that passes over the trunk at another depth and joins nothing in the picture."""
    middle = trunk.point_at(crosses_at_mm) + np.array([0.0, 0.0, depth_mm])
    along_mm = np.linspace(-0.5, 0.5, max(6, round(length_mm / 12.0))) * length_mm
    slope = np.deg2rad(slope_deg)
    wander = np.cumsum(random.normal(0.0, 1.5, len(along_mm)))
    knots = middle + np.column_stack(
        [
            along_mm * np.cos(slope) - wander * np.sin(slope),
            along_mm * np.sin(slope) + wander * np.cos(slope),
            random.normal(0.0, 1.0, len(along_mm)),
        ]
    )
    return Vein(
        id=name,
        kind=VeinKind.CROSSING,
        knots_mm=_knots(knots),
        relaxed_diameters_mm=(diameter_mm, diameter_mm),
        strength=0.6,
        end_strength=0.4,
        enters_after_s=enters_after_s,
    )


def renal_stub(*, trunk: Course, reach_mm: float, diameter_mm: float) -> Vein:
    """The nearest part of the left renal vein, faint: its stream dilutes what reaches it."""
    ostium = trunk.points_mm[0] - 0.35 * diameter_mm * trunk.tangents[0]
    along_mm = np.linspace(0.25, -1.0, 6) * reach_mm
    knots = ostium + np.column_stack([along_mm, -0.12 * along_mm, 0.1 * along_mm])
    return Vein(
        id="renal-stub",
        kind=VeinKind.RENAL_STUB,
        knots_mm=_knots(knots),
        relaxed_diameters_mm=(0.3 * diameter_mm, diameter_mm, diameter_mm),
        joins=(TrueJoin(own_end=OwnEnd.START, vessel="trunk", at_mm=0.0),),
        strength=0.14,
        end_strength=0.0,
    )


def _eased(share: Floats) -> Floats:
    return share * share * (3.0 - 2.0 * share)


def _knots(points: Floats) -> tuple[Point3, ...]:
    return tuple((float(x), float(y), float(z)) for x, y, z in points)
