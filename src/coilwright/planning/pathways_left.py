"""What a plan's levels leave open of the network, as a plan holds it."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class PathwaysLeft:
    """The pathways that stay open with every level shut, and the veins that are not reached.

    ``closed`` are the veins of the plan's network that lie in a level's zone. ``open_pathways``
    are vein ids from inflow to outflow; ``places`` tells where each
    vein lies in words, those of the least closure's network too.
    ``not_reached`` may be closed, but do not let the smallest device in or have no end that it
    reaches.
    """

    closed: tuple[str, ...]
    open_pathways: tuple[tuple[str, ...], ...]
    open_pathways_cut_short: bool
    not_reached: tuple[str, ...]
    places: dict[str, str]
    text: str
