"""Courses, levels and signed protocols for the tests of the route."""

import datetime as dt
import itertools
import math
from collections.abc import Sequence
from dataclasses import replace

from coilwright.kit import Catheter, Kit, Microcatheter
from coilwright.planning.plan import LandingZone, Level, LevelName
from coilwright.planning.route import Access, RouteOption, RouteTarget, RouteToTarget
from coilwright.protocol import Protocol, load_protocol
from coilwright.veins import Vessel
from planning.straight_trunks import MM_PER_PIXEL, straight_vessel

PROTOCOL = load_protocol()
READ_AT = "made up for the test"
SIGNED_ON = dt.date(2026, 1, 2)


def signed() -> Protocol:
    """Every limit and choice signed off by an invented doctor, so that each of them stands."""
    who = {"signed_off_by": "Dr Invented", "signed_off_on": SIGNED_ON}
    return Protocol(
        name="signed",
        version="1",
        limits={id: replace(limit, **who) for id, limit in PROTOCOL.limits.items()},  # type: ignore[arg-type]  # both fields of a limit
        choices={id: replace(one, **who) for id, one in PROTOCOL.choices.items()},  # type: ignore[arg-type]  # both fields of a choice
    )


def with_choice(protocol: Protocol, id: str, value: str) -> Protocol:
    choices = {**protocol.choices, id: replace(protocol.choice(id), value=value)}
    return replace(protocol, choices=choices)


def level_at(name: LevelName, from_mm: float, to_mm: float) -> Level:
    """A level without coils, which no part of the route looks at."""
    zone = LandingZone(
        vessel="trunk",
        from_mm=from_mm,
        to_mm=to_mm,
        point_px=(0.0, 0.0),
        bony_landmark=None,
        described="made up for the test",
    )
    return Level(
        name=name,
        order=1,
        zone=zone,
        measured=None,
        relaxed=None,
        mouths=(),
        tip=None,
        choices=(),
        first_choice=None,
    )


def course(points_mm: Sequence[tuple[float, float]]) -> Vessel:
    """A trunk along these points, its arc the sum of the distances between them."""
    arc_mm = [0.0]
    for one, other in itertools.pairwise(points_mm):
        arc_mm.append(arc_mm[-1] + math.dist(one, other))
    count = len(points_mm)
    return replace(
        straight_vessel(length_mm=1),
        points_px=tuple((x / MM_PER_PIXEL, y / MM_PER_PIXEL) for x, y in points_mm),
        arc_mm=tuple(arc_mm),
        diameter_mm=(6.0,) * count,
        diameter_sd_mm=(0.15,) * count,
        depth_relative_sd=(0.05,) * count,
        opacity=(1.0,) * count,
        arrival_s=(None,) * count,
    )


def half_circle(
    radius_mm: float, *, sense: int = 1, from_y_mm: float = 0.0
) -> list[tuple[float, float]]:
    """From (0, from_y) round to (0, from_y + 2 r), bulging to the side of ``sense``."""
    steps = math.ceil(math.pi * radius_mm / 0.5)
    angles = [math.pi * i / steps for i in range(steps + 1)]
    return [
        (
            sense * radius_mm * math.sin(angle),
            from_y_mm + radius_mm * (1 - math.cos(angle)),
        )
        for angle in angles
    ]


def catheter(length_cm: float | None, *, id: str = "catheter", tip: str | None = None) -> Catheter:
    return Catheter(
        id=id,
        name=f"catheter {id}",
        read_at=READ_AT,
        shelf_count=1,
        outer_fr=5,
        lumen_inch=0.038,
        length_cm=length_cm,
        tip=tip,
    )


def microcatheter(
    length_cm: float | None, *, outer_fr: float | None = 2.7, id: str = "micro"
) -> Microcatheter:
    return Microcatheter(
        id=id,
        name=f"microcatheter {id}",
        read_at=READ_AT,
        shelf_count=1,
        outer_fr=outer_fr,
        lumen_inch=0.021,
        length_cm=length_cm,
    )


def kit_of(*tubes: Catheter | Microcatheter) -> Kit:
    return Kit(
        catheters=tuple(tube for tube in tubes if isinstance(tube, Catheter)),
        microcatheters=tuple(tube for tube in tubes if isinstance(tube, Microcatheter)),
    )


def way(options: Sequence[RouteOption], access: Access) -> RouteOption:
    return next(option for option in options if option.access is access)


def path_to(option: RouteOption, target: RouteTarget) -> RouteToTarget:
    path = option.to(target)
    assert path is not None
    return path
