"""How far below its ostium the upper level ends, by the side and by what the vein opens into."""

from dataclasses import dataclass

from coilwright.protocol import Limit, Protocol
from coilwright.veins import Side


@dataclass(frozen=True, slots=True, kw_only=True)
class OstiumLimits:
    """Nearest and farthest upper end below the ostium, and the vein that it opens into."""

    nearest: Limit
    farthest: Limit
    opens_into: str


def ostium_limits(side: Side | None, protocol: Protocol) -> OstiumLimits:
    """The left vein's limits below the renal vein, or the right one's below the cava.

    A side that nobody stated is not guessed: the limits that keep farther away count.
    """
    left = OstiumLimits(
        nearest=protocol.limit("upper-end-below-ostium-min"),
        farthest=protocol.limit("upper-end-below-ostium-max"),
        opens_into="renal vein",
    )
    right = OstiumLimits(
        nearest=protocol.limit("upper-end-below-cava-ostium-min"),
        farthest=protocol.limit("upper-end-below-cava-ostium-max"),
        opens_into="cava",
    )
    if side is Side.LEFT:
        return left
    if side is Side.RIGHT:
        return right
    farther = max(left, right, key=lambda limits: limits.nearest.value)
    return OstiumLimits(
        nearest=farther.nearest, farthest=farther.farthest, opens_into="renal vein or the cava"
    )
