"""A small scene worked out by hand: one straight vein across the beam, nothing else."""

from dataclasses import replace

import pytest

from coilwright.phantom.anatomy import Anatomy
from coilwright.phantom.catheter import Approach, Catheter
from coilwright.phantom.contrast import Injection
from coilwright.phantom.detector import BlurKernel, Detector
from coilwright.phantom.geometry import Cone
from coilwright.phantom.motion import Motion
from coilwright.phantom.scene import Level, Scene
from coilwright.phantom.storage import Relationship, Storage
from coilwright.phantom.vein import Vein, VeinKind


@pytest.fixture
def empty_anatomy() -> Anatomy:
    return Anatomy(
        seed=1,
        midline_mm=0.0,
        sacrum_mm=0.0,
        vertebra_pitch_mm=34.0,
        pelvis_scale=1.0,
        bone_gain=0.0,
        tissue_gain=0.0,
        texture=0.0,
        gas_bubbles=0,
        table_edge_mm=None,
        blades_px=(0, 0, 0, 0),
    )


@pytest.fixture
def straight_scene(empty_anatomy: Anatomy) -> Scene:
    """A vein of 4 mm straight down through the isocentre, filled from the fourth frame on.

    Ostium and catheter lie above the picture. At 10000/123 mg/mL of iodine and 12.3 cm2/g the
    vein absorbs 0.1 /mm. No blur, no scatter, no noise.
    """
    trunk = Vein(
        id="trunk",
        kind=VeinKind.TRUNK,
        knots_mm=tuple((0.0, float(y_mm), 0.0) for y_mm in range(-60, 61, 10)),
        relaxed_diameters_mm=(4.0, 4.0),
    )
    return Scene(
        name="straight",
        seed=1,
        level=Level.STILL,
        cone=Cone(
            source_to_detector_mm=1100.0,
            source_to_isocentre_mm=750.0,
            imager_spacing_mm=0.22,
            rows=65,
            columns=97,
        ),
        frames=6,
        frames_per_s=2.0,
        veins=(trunk,),
        catheter=Catheter(
            size_fr=5.0, lumen_mm=1.0, wall_per_mm=0.4, approach=Approach.NECK, tip_mm=30.0
        ),
        injection=Injection(
            start_s=1.5,
            vein_mg_i_per_ml=1e4 / 123.0,
            lumen_mg_i_per_ml=300.0,
            down_mm_per_s=400.0,
            up_mm_per_s=400.0,
            rise_s=0.2,
        ),
        anatomy=empty_anatomy,
        motion=Motion(),
        detector=Detector(
            blur_mm=0.0,
            kernel=BlurKernel.GAUSSIAN,
            scatter_share=0.0,
            scatter_mm=60.0,
            quanta_per_pixel=50000.0,
            electronic_quanta=0.0,
            photon_noise=False,
        ),
        storage=Storage(relationship=Relationship.LIN, bits_stored=16),
    )


@pytest.fixture
def breathing_scene(straight_scene: Scene) -> Scene:
    return replace(
        straight_scene,
        level=Level.BREATHING,
        motion=Motion(amplitude_mm=1.0, period_s=4.0, sideways_share=0.0),
    )
