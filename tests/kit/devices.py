"""Single devices for tests, with the labels that a test does not care about filled in."""

from pathlib import Path

from coilwright.kit import (
    Catheter,
    Coil,
    CoilDelivery,
    Kit,
    Microcatheter,
    Needle,
    NeedleWall,
    Sheath,
    Wire,
    WireEnd,
    load_kit,
)

DEMO_KIT = Path(__file__).parents[2] / "src" / "coilwright" / "demo" / "kit.toml"
READ_AT = "made up for the test"


def demo_kit() -> Kit:
    return load_kit(DEMO_KIT)


def needle(*, inner_mm: float | None = None, accepts_inch: float | None = None) -> Needle:
    return Needle(
        id="needle",
        name="18 G needle",
        read_at=READ_AT,
        shelf_count=1,
        gauge=18,
        wall=NeedleWall.REGULAR,
        length_cm=7,
        inner_diameter_mm=inner_mm,
        accepts_wire_inch=accepts_inch,
    )


def wire(
    wire_inch: float,
    *,
    length_cm: float = 180,
    id: str = "wire",
    front_end: WireEnd | None = None,
    back_end: WireEnd | None = None,
) -> Wire:
    return Wire(
        id=id,
        name=f"{wire_inch} in wire",
        read_at=READ_AT,
        shelf_count=1,
        wire_inch=wire_inch,
        length_cm=length_cm,
        front_end=front_end,
        back_end=back_end,
    )


def sheath(accepts_fr: float) -> Sheath:
    return Sheath(
        id="sheath",
        name=f"{accepts_fr:g} F sheath",
        read_at=READ_AT,
        shelf_count=1,
        accepts_fr=accepts_fr,
        accepts_wire_inch=0.038,
        length_cm=11,
    )


def catheter(outer_fr: float = 5, *, lumen_inch: float = 0.038, length_cm: float = 65) -> Catheter:
    return Catheter(
        id="catheter",
        name=f"{outer_fr:g} F catheter",
        read_at=READ_AT,
        shelf_count=1,
        outer_fr=outer_fr,
        lumen_inch=lumen_inch,
        length_cm=length_cm,
    )


def micro(outer_fr: float, *, lumen_inch: float = 0.021, length_cm: float = 130) -> Microcatheter:
    return Microcatheter(
        id="micro",
        name=f"{outer_fr:g} F microcatheter",
        read_at=READ_AT,
        shelf_count=1,
        outer_fr=outer_fr,
        lumen_inch=lumen_inch,
        length_cm=length_cm,
    )


def coil(
    wire_inch: float,
    *,
    diameter_mm: float = 6,
    delivery: CoilDelivery = CoilDelivery.PUSHABLE,
    needs_max_inch: float | None = None,
    pusher_cm: float | None = None,
) -> Coil:
    return Coil(
        id="coil",
        name=f"{diameter_mm:g} mm coil",
        read_at=READ_AT,
        shelf_count=1,
        diameter_mm=diameter_mm,
        wire_diameter_inch=wire_inch,
        length_mm=140,
        fibred=True,
        shape="helix",
        delivery=delivery,
        needs_lumen_max_inch=needs_max_inch,
        pusher_length_cm=pusher_cm,
    )
