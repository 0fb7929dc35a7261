"""Runs that every suite meets and that a measurement gets wrong: scenes with known truth.

A late run with a filled ureter, old coils and processing for display; a trunk wholly in spasm after
the wire; a competent valve at the ostium with reflux by way of a hilar collateral.
"""

from dataclasses import replace

from coilwright.phantom.bystanders import OldCoil, RenalPelvis, Ureter
from coilwright.phantom.demo_scene import demo_scene
from coilwright.phantom.scene import Scene
from coilwright.phantom.storage import Relationship, Storage
from coilwright.phantom.vein import TrueJoin, Vein, VeinKind
from coilwright.veins import OwnEnd

# What a refluxing trunk of 4 to 5 mm may clamp down to on the wire (invented for the scene).
_SPASM_MM = (1.9, 1.8, 1.7, 1.7, 1.6, 1.6, 1.5, 1.5)

_VALVE_MM = 26.0


def late_run() -> Scene:
    """Display-processed, 2 frames a second; ureter beside the vein and crossing it; old coils."""
    demo = demo_scene()
    ureter = Ureter(
        knots_mm=(
            (34.0, -78.0, 20.0),
            (30.0, -40.0, 24.0),
            (22.0, 0.0, 26.0),
            (12.0, 40.0, 24.0),
            (4.0, 78.0, 20.0),
            (-2.0, 110.0, 14.0),
        ),
        diameter_mm=4.0,
        mg_i_per_ml=60.0,
        bolus_mm=38.0,
        gap_mm=22.0,
        speed_mm_per_s=14.0,
        phase_mm=9.0,
    )
    pelvis = RenalPelvis(centre_mm=(40.0, -84.0), half_mm=(13.0, 9.0), optical_depth=0.7)
    coils = tuple(
        OldCoil(centre_mm=(x_mm, y_mm, 10.0), nest_mm=5.0, length_mm=9.0, turns=5)
        for x_mm, y_mm in ((-52.0, 66.0), (-50.0, 82.0))
    )
    return replace(
        demo,
        name="late-run",
        frames=16,
        frames_per_s=2.0,
        veins=tuple(vein for vein in demo.veins if vein.kind is not VeinKind.DUPLICATE),
        storage=Storage(relationship=Relationship.DISP, bits_stored=8),
        bystanders=(ureter, pelvis, *coils),
    )


def trunk_in_spasm() -> Scene:
    """The whole trunk clamped down, with no normal neighbour to read the relaxed calibre from."""
    demo = demo_scene()
    trunk = replace(demo.trunk, relaxed_diameters_mm=_SPASM_MM, spasm=None)
    return replace(demo, name="trunk-in-spasm", veins=(trunk,))


def competent_valve() -> Scene:
    """The valve below the ostium holds; the trunk fills from the renal hilum by a collateral.

    The catheter's tip lies in the ostium, above the valve: contrast injected there reaches the
    trunk only by way of the kidney, and the map may show no ostium of the trunk.
    """
    demo = demo_scene()
    course = demo.trunk.course()
    trunk = replace(demo.trunk, empty_share=_VALVE_MM / course.length_mm)
    joins_at_mm = _VALVE_MM + 8.0
    x_mm, y_mm, z_mm = (float(value) for value in course.point_at(joins_at_mm))
    collateral = Vein(
        id="hilar-collateral",
        kind=VeinKind.SIDE_VEIN,
        knots_mm=(
            (x_mm, y_mm, z_mm),
            (x_mm + 6.0, y_mm - 5.0, z_mm),
            (x_mm + 18.0, y_mm - 14.0, z_mm - 3.0),
            (x_mm + 32.0, y_mm - 24.0, z_mm - 5.0),
            (x_mm + 46.0, y_mm - 30.0, z_mm - 5.0),
        ),
        relaxed_diameters_mm=(2.6, 2.4, 2.4, 2.2),
        joins=(TrueJoin(own_end=OwnEnd.START, vessel=trunk.id, at_mm=joins_at_mm),),
    )
    others = tuple(vein for vein in demo.veins if vein.kind is VeinKind.SIDE_VEIN)
    catheter = replace(demo.catheter, tip_mm=3.0)
    return replace(
        demo, name="competent-valve", veins=(trunk, *others, collateral), catheter=catheter
    )
