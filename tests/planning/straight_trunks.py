"""Vein maps of one straight trunk, for tests: 0.5 mm per pixel, straight down the picture."""

from dataclasses import replace
from pathlib import Path

from coilwright.kit import Kit, load_kit
from coilwright.veins import (
    Calibration,
    CalibrationMethod,
    Catheter,
    Conditions,
    DiameterMethod,
    Join,
    Landmark,
    Landmarks,
    MeasuredRun,
    Narrowing,
    OwnEnd,
    Quality,
    Side,
    VeinMap,
    Vessel,
    VesselKind,
)

MM_PER_PIXEL = 0.5
X_PX = 300.0
TOP_PX = 50.0
DEMO_KIT = Path(__file__).parents[2] / "src" / "coilwright" / "demo" / "kit.toml"


def demo_kit() -> Kit:
    return load_kit(DEMO_KIT)


def y_px(arc_mm: float) -> float:
    """Where an arc of the straight trunk lies on the picture."""
    return TOP_PX + arc_mm / MM_PER_PIXEL


def mark_at(arc_mm: float, *, beside_mm: float = 0.0, sd_mm: float = 1.0) -> Landmark:
    point_px = (X_PX + beside_mm / MM_PER_PIXEL, y_px(arc_mm))
    return Landmark(point_px=point_px, sd_mm=sd_mm, how="marked")


def straight_vessel(
    *,
    length_mm: float = 200.0,
    diameter_mm: float | None = 6.0,
    sd_mm: float | None = 0.15,
    depth_relative_sd: float | None = 0.05,
    method: DiameterMethod = DiameterMethod.PROFILE,
    narrowings: tuple[Narrowing, ...] = (),
    narrowed_to_mm: float | None = None,
) -> Vessel:
    """A trunk sampled every 0.5 mm, as wide everywhere but in its narrowings."""
    count = round(length_mm * 2) + 1
    arcs_mm = tuple(i * 0.5 for i in range(count))

    def width_mm(arc_mm: float) -> float | None:
        narrow = any(n.from_mm <= arc_mm <= n.to_mm for n in narrowings)
        return narrowed_to_mm if narrow and narrowed_to_mm is not None else diameter_mm

    return Vessel(
        id="trunk",
        kind=VesselKind.TRUNK,
        runs=(0,),
        joins=(),
        diameter_method=method,
        points_px=tuple((X_PX, y_px(arc_mm)) for arc_mm in arcs_mm),
        arc_mm=arcs_mm,
        diameter_mm=tuple(width_mm(arc_mm) for arc_mm in arcs_mm),
        diameter_sd_mm=(sd_mm,) * count,
        depth_relative_sd=(depth_relative_sd,) * count,
        opacity=(1.0,) * count,
        arrival_s=(None,) * count,
        narrowings=narrowings,
    )


def side_vein(vessel_id: str, *, at_mm: float) -> Vessel:
    """A short side vein that leaves the trunk at ``at_mm``."""
    return Vessel(
        id=vessel_id,
        kind=VesselKind.SIDE_VEIN,
        runs=(0,),
        joins=(Join(own_end=OwnEnd.START, vessel="trunk", at_mm=at_mm),),
        diameter_method=DiameterMethod.PROFILE,
        points_px=((X_PX, y_px(at_mm)), (X_PX + 1.0, y_px(at_mm))),
        arc_mm=(0.0, 0.5),
        diameter_mm=(2.0, 2.0),
        diameter_sd_mm=(0.2, 0.2),
        depth_relative_sd=(0.05, 0.05),
        opacity=(0.5, 0.5),
        arrival_s=(None, None),
    )


def vein_map_of(
    *vessels: Vessel,
    ostium_mm: float | None = 0.0,
    floor_mm: float | None = 190.0,
    tip_mm: float | None = 100.0,
    breathing_mm: float | None = 2.0,
    side: Side | None = Side.LEFT,
    method: CalibrationMethod = CalibrationMethod.CATHETER,
    tolerance_relative_sd: float | None = 0.02,
) -> VeinMap:
    """A map of these vessels with its marks at these arcs of the straight trunk."""
    tip_px = None if tip_mm is None else (X_PX, y_px(tip_mm))
    return VeinMap(
        runs=(
            MeasuredRun(
                sop_instance_uid="2.25.1",
                rows=1024,
                columns=1024,
                frames=20,
                frame_times_s=None,
                mask_frames=(0,),
                reference_frame=12,
                conditions=Conditions(valsalva=True),
            ),
        ),
        reference_frame=12,
        side=side,
        calibration=Calibration(
            mm_per_pixel=MM_PER_PIXEL,
            relative_sd=0.02,
            method=method,
            catheter_fr=5.0,
            tolerance_relative_sd=tolerance_relative_sd,
        ),
        vessels=vessels,
        landmarks=Landmarks(
            ostium=None if ostium_mm is None else mark_at(ostium_mm),
            superior_ramus_edge=None if floor_mm is None else mark_at(floor_mm),
        ),
        catheter=Catheter(tip_px=tip_px, in_vessel=None if tip_px is None else "trunk"),
        quality=Quality(contrast_to_noise=12.0, motion_corrected_mm=breathing_mm),
    )


def without_landmarks(vein_map: VeinMap) -> VeinMap:
    return replace(vein_map, landmarks=Landmarks())
