"""The demonstration's run: an invented left varicocele with a spasm and a duplicate."""

import numpy as np

from coilwright.phantom.anatomy import Anatomy
from coilwright.phantom.catheter import Approach, Catheter
from coilwright.phantom.contrast import Injection
from coilwright.phantom.detector import BlurKernel, Detector
from coilwright.phantom.geometry import Cone
from coilwright.phantom.motion import Motion
from coilwright.phantom.scene import Level, Scene
from coilwright.phantom.storage import Relationship, Storage
from coilwright.phantom.vein import Spasm, Vein
from coilwright.phantom.vein_tree import Bend, duplicate_vein, side_vein, trunk_vein

_SEED = 20250304
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
        veins=_demo_veins(),
        catheter=Catheter(
            size_fr=5.0,
            lumen_mm=1.0,
            wall_per_mm=0.38,
            approach=Approach.NECK,
            tip_mm=30.0,
            cava_mm=58.0,
        ),
        injection=Injection(
            start_s=1.45,
            vein_mg_i_per_ml=95.0,
            lumen_mg_i_per_ml=300.0,
            down_mm_per_s=62.0,
            up_mm_per_s=40.0,
            rise_s=0.5,
        ),
        anatomy=Anatomy(
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
        ),
        motion=Motion(amplitude_mm=0.4, period_s=4.2, gas_drift_mm=1.2),
        detector=Detector(
            blur_mm=0.25,
            kernel=BlurKernel.GAUSSIAN,
            scatter_share=0.18,
            scatter_mm=60.0,
            quanta_per_pixel=6000.0,
            electronic_quanta=6.0,
        ),
        storage=Storage(relationship=Relationship.LOG, bits_stored=12),
        ring_mm=183.0,
    )


def _demo_veins() -> tuple[Vein, ...]:
    trunk = trunk_vein(
        ostium_mm=(-6.0, -84.0, 4.0),
        descent_mm=196.0,
        lateral_mm=30.0,
        forward_mm=34.0,
        bends=(Bend(amplitude_mm=3.0, wavelength_mm=150.0, phase_rad=0.2),
               Bend(amplitude_mm=1.4, wavelength_mm=47.0, phase_rad=2.0)),
        relaxed_diameters_mm=(5.0, 4.7, 4.6, 4.6, 4.4, 4.3, 4.1, 3.9),
        spasm=Spasm(
            centre_mm=76.0,
            half_length_mm=11.0,
            share=1.0 - _NARROWED_TO_MM / _RELAXED_AT_SPASM_MM,
        ),
    )  # fmt: skip
    course = trunk.course()
    random = np.random.default_rng(_SEED)
    places = ((52.0, 1, 48.0, 46.0, 2.2), (92.0, -1, 55.0, 38.0, 1.7), (166.0, 1, 62.0, 40.0, 2.0))
    side_veins = tuple(
        side_vein(
            name=f"side-{number}",
            trunk=course,
            leaves_at_mm=at_mm,
            side=side,
            angle_deg=angle_deg,
            length_mm=length_mm,
            relaxed_diameters_mm=(diameter_mm, diameter_mm, 0.75 * diameter_mm),
            strength=0.85,
            random=random,
        )
        for number, (at_mm, side, angle_deg, length_mm, diameter_mm) in enumerate(places, start=1)
    )
    duplicate = duplicate_vein(
        name="duplicate-1",
        trunk=course,
        leaves_at_mm=102.0,
        rejoins_at_mm=160.0,
        side=1,
        apart_mm=9.0,
        depth_mm=3.0,
        bend=Bend(amplitude_mm=0.8, wavelength_mm=35.0, phase_rad=0.0),
        relaxed_diameters_mm=(2.6, 2.5, 2.4, 2.5),
    )
    return (trunk, duplicate, *side_veins)
