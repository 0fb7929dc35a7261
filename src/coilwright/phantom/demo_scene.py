"""The demonstration's run: an invented left varicocele with a spasm and a duplicate."""

from typing import NamedTuple

import numpy as np

from coilwright.phantom.anatomy import Anatomy
from coilwright.phantom.catheter import Approach, Catheter
from coilwright.phantom.contrast import Injection
from coilwright.phantom.course import Course
from coilwright.phantom.detector import BlurKernel, Detector
from coilwright.phantom.geometry import Cone
from coilwright.phantom.motion import Motion
from coilwright.phantom.scene import Level, Scene
from coilwright.phantom.storage import Relationship, Storage
from coilwright.phantom.vein import Spasm, Vein
from coilwright.phantom.vein_tree import Bend, duplicate_vein, side_vein, trunk_vein


class _Place(NamedTuple):
    """Where a side vein leaves the trunk, and how it goes on."""

    at_mm: float
    side: int
    angle_deg: float
    length_mm: float
    diameter_mm: float


_SEED = 20250304
_SIDE_VEINS = (
    _Place(at_mm=52.0, side=1, angle_deg=48.0, length_mm=46.0, diameter_mm=2.2),
    _Place(at_mm=92.0, side=-1, angle_deg=55.0, length_mm=38.0, diameter_mm=1.7),
    _Place(at_mm=166.0, side=1, angle_deg=62.0, length_mm=40.0, diameter_mm=2.0),
)
_RELAXED_AT_SPASM_MM = 4.6
_NARROWED_TO_MM = 2.9


def demo_scene() -> Scene:
    """A clinically plausible left gonadal venogram, always the same."""
    return Scene(
        name="demo",
        seed=_SEED,
        level=Level.BREATHING,
        cone=Cone(
            source_to_detector_mm=1120.0,
            source_to_isocentre_mm=780.0,
            imager_spacing_mm=0.4,
            rows=768,
            columns=768,
        ),
        frames=24,
        frames_per_s=3.0,
        veins=_veins(),
        catheter=Catheter(
            size_fr=5.0,
            lumen_mm=1.0,
            wall_per_mm=0.38,
            approach=Approach.NECK,
            tip_mm=30.0,
            cava_mm=58.0,
        ),
        injection=_injection(),
        anatomy=_anatomy(),
        motion=Motion(amplitude_mm=0.4, period_s=4.2, gas_drift_mm=1.2),
        detector=_detector(),
        storage=Storage(relationship=Relationship.LOG, bits_stored=12),
        ring_mm=166.0,
    )


def _injection() -> Injection:
    return Injection(
        start_s=1.45,
        vein_mg_i_per_ml=95.0,
        lumen_mg_i_per_ml=300.0,
        down_mm_per_s=62.0,
        up_mm_per_s=40.0,
        rise_s=0.5,
    )


def _anatomy() -> Anatomy:
    return Anatomy(
        seed=_SEED,
        midline_mm=-42.0,
        sacrum_mm=8.0,
        vertebra_pitch_mm=32.0,
        pelvis_scale=0.82,
        bone_gain=1.0,
        tissue_gain=1.0,
        texture=0.025,
        gas_bubbles=14,
        table_edge_mm=None,
        blades_px=(0, 0, 0, 0),
    )


def _detector() -> Detector:
    return Detector(
        blur_mm=0.25,
        kernel=BlurKernel.GAUSSIAN,
        scatter_share=0.18,
        scatter_mm=60.0,
        quanta_per_pixel=6000.0,
        electronic_quanta=6.0,
        output_ripple=0.003,
    )


def _veins() -> tuple[Vein, ...]:
    trunk = _trunk()
    course = trunk.course()
    return (trunk, _duplicate(course), *_side_veins(course))


def _trunk() -> Vein:
    return trunk_vein(
        ostium_mm=(-6.0, -84.0, 4.0),
        descent_mm=196.0,
        lateral_mm=30.0,
        forward_mm=34.0,
        bends=(
            Bend(amplitude_mm=3.0, wavelength_mm=150.0, phase_rad=0.2),
            Bend(amplitude_mm=1.4, wavelength_mm=47.0, phase_rad=2.0),
        ),
        relaxed_diameters_mm=(5.0, 4.7, 4.6, 4.6, 4.4, 4.3, 4.1, 3.9),
        spasm=Spasm(
            centre_mm=76.0,
            half_length_mm=11.0,
            share=1.0 - _NARROWED_TO_MM / _RELAXED_AT_SPASM_MM,
        ),
    )


def _duplicate(trunk: Course) -> Vein:
    return duplicate_vein(
        name="duplicate-1",
        trunk=trunk,
        leaves_at_mm=102.0,
        rejoins_at_mm=160.0,
        side=1,
        apart_mm=9.0,
        depth_mm=3.0,
        bend=Bend(amplitude_mm=0.8, wavelength_mm=35.0, phase_rad=0.0),
        relaxed_diameters_mm=(2.6, 2.5, 2.4, 2.5),
    )


def _side_veins(trunk: Course) -> tuple[Vein, ...]:
    random = np.random.default_rng(_SEED)
    return tuple(
        side_vein(
            name=f"side-{number}",
            trunk=trunk,
            leaves_at_mm=place.at_mm,
            side=place.side,
            angle_deg=place.angle_deg,
            length_mm=place.length_mm,
            relaxed_diameters_mm=(place.diameter_mm, place.diameter_mm, 0.75 * place.diameter_mm),
            strength=0.85,
            random=random,
        )
        for number, place in enumerate(_SIDE_VEINS, start=1)
    )
