"""A small map drawn by hand, whose lengths and calibres can be worked out on paper."""

from coilwright.veins import (
    Calibration,
    CalibrationMethod,
    Catheter,
    DiameterMethod,
    Join,
    MeasuredRun,
    Narrowing,
    OwnEnd,
    Quality,
    VeinMap,
    Vessel,
    VesselKind,
)

MM = 0.25
STEP_PX = 2.0


def straight(
    vessel_id: str,
    kind: VesselKind,
    start: tuple[float, float],
    step: tuple[float, float],
    count: int,
    *,
    diameter_mm: float = 4.0,
    joins: tuple[Join, ...] = (),
    narrowings: tuple[Narrowing, ...] = (),
) -> Vessel:
    """A straight vessel of ``count`` samples 2 px (0.5 mm) apart along x or y."""
    (x, y), (dx, dy) = start, step
    return Vessel(
        id=vessel_id,
        kind=kind,
        runs=(0,),
        joins=joins,
        diameter_method=DiameterMethod.PROFILE,
        points_px=tuple((x + i * dx * STEP_PX, y + i * dy * STEP_PX) for i in range(count)),
        arc_mm=tuple(i * STEP_PX * MM for i in range(count)),
        diameter_mm=(diameter_mm,) * count,
        diameter_sd_mm=(0.1,) * count,
        depth_relative_sd=(0.01,) * count,
        opacity=(1.0,) * count,
        arrival_s=(1.0,) * count,
        narrowings=narrowings,
    )


def joined_at(vessel: str, at_mm: float, own_end: OwnEnd = OwnEnd.START) -> Join:
    return Join(own_end=own_end, vessel=vessel, at_mm=at_mm)


def hand_map() -> VeinMap:
    """A trunk 100 mm down x = 100, a side vein at 40 mm and one at 80 mm, both 20 mm to the right.

    The trunk is narrow from 35 to 45 mm (relaxed 4.4 mm, sd 0.2 mm).
    """
    narrow = Narrowing(from_mm=35.0, to_mm=45.0, relaxed_diameter_mm=4.4, relaxed_sd_mm=0.2)
    trunk = straight(
        "trunk", VesselKind.TRUNK, (100.0, 50.0), (0.0, 1.0), 201, narrowings=(narrow,)
    )
    upper = straight(
        "side-vein-1", VesselKind.SIDE_VEIN, (100.0, 210.0), (1.0, 0.0), 41,
        diameter_mm=2.0, joins=(joined_at("trunk", 40.0),),
    )  # fmt: skip
    lower = straight(
        "side-vein-2", VesselKind.SIDE_VEIN, (100.0, 370.0), (1.0, 0.0), 41,
        diameter_mm=3.0, joins=(joined_at("trunk", 80.0),),
    )  # fmt: skip
    run = MeasuredRun(
        sop_instance_uid="1.2.3",
        rows=512,
        columns=512,
        frames=12,
        frame_times_s=None,
        mask_frames=(0, 1),
        reference_frame=1,
    )
    return VeinMap(
        runs=(run,),
        reference_frame=1,
        side=None,
        calibration=Calibration(
            mm_per_pixel=MM, relative_sd=0.01, method=CalibrationMethod.CATHETER, catheter_fr=5.0
        ),
        vessels=(trunk, upper, lower),
        catheter=Catheter(tip_px=(100.0, 90.0), in_vessel="trunk"),
        quality=Quality(contrast_to_noise=20.0, motion_corrected_mm=0.5),
    )
