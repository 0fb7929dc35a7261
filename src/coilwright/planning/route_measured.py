"""Lengths that the operator measured on the table, checked before any is used."""

import math
from collections.abc import Mapping

from coilwright.errors import InputError, Problem
from coilwright.planning.route import Access, AccessSite, RouteTarget
from coilwright.veins import Side

# Sanity bounds, to catch a length typed in centimetres or metres. No part of the route is shorter
# than the first or longer than the second.
SHORTEST_MM = 5.0
LONGEST_MM = 1500.0
RENAL_SEGMENT = "left-renal-vein-to-ostium"
# The targets beyond the ostium, in the order in which the catheter meets them.
LEVELS = (RouteTarget.UPPER, RouteTarget.MIDDLE, RouteTarget.DISTAL)


class RouteInputProblem(InputError):
    """A value that was typed for the route cannot be used."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        super().__init__(problem)

    def __str__(self) -> str:
        return f"route: {self.problem}."


def skin_segment(access: Access) -> str:
    """From the skin to the cava: its upper end from neck and arm, its lower from the groin."""
    return f"{access}-to-{_cava_end(access)}"


def cava_segment(access: Access, side: Side) -> str:
    """Along the cava: to the left renal vein, or to the right vein's own ostium."""
    return f"{_cava_end(access)}-to-{'left-renal-vein' if side is Side.LEFT else 'right-ostium'}"


def whole_segment(access: Access) -> str:
    """From the skin to the ostium in one measurement, as with the wire."""
    return f"{access}-to-ostium"


def level_segment(target: RouteTarget) -> str:
    """From the ostium down to the far end of a level."""
    return f"ostium-to-{target}"


def measurable(side: Side) -> tuple[str, ...]:
    """The names under which a measured length is taken for the vein of this side."""
    names = []
    for access in Access:
        names += [whole_segment(access), skin_segment(access), cava_segment(access, side)]
    if side is Side.LEFT:
        names.append(RENAL_SEGMENT)
    names += [level_segment(target) for target in LEVELS]
    return tuple(dict.fromkeys(names))


def check_measured(measured_mm: Mapping[str, float], side: Side) -> None:
    """Refuse a length that no part of this route can have.

    Raises
    ------
    RouteInputProblem
        A name that this side does not have, or a length outside the sanity bounds.
    """
    names = measurable(side)
    for name, length_mm in measured_mm.items():
        if name not in names:
            raise RouteInputProblem(
                Problem(
                    field=f"measured_lengths_mm.{name}",
                    found=f"no part of a way to the {side} vein",
                    mend=f"name one of {', '.join(names)}",
                )
            )
        if not (math.isfinite(length_mm) and SHORTEST_MM <= length_mm <= LONGEST_MM):
            raise RouteInputProblem(
                Problem(
                    field=f"measured_lengths_mm.{name}",
                    found=f"{length_mm:g} mm is not possible",
                    mend=f"give millimetres from {SHORTEST_MM:g} to {LONGEST_MM:g}",
                )
            )


def check_height(height_cm: float | None) -> None:
    """Refuse a body height that nobody has.

    Raises
    ------
    RouteInputProblem
        Not between 40 and 250 cm.
    """
    if height_cm is not None and not 40.0 <= height_cm <= 250.0:
        raise RouteInputProblem(
            Problem(
                field="height_cm",
                found=f"{height_cm:g} cm is not possible",
                mend="give the height in centimetres",
            )
        )


def _cava_end(access: Access) -> str:
    return "confluence" if access.site is AccessSite.GROIN else "atrium"
