"""The corners that a way has by anatomy, before anything of the vein itself is seen.

An angle is given only where a figure was read; all others are null. Which corners there are is
anatomy of the trade's own handbooks, no figure.
"""

from coilwright.advice import Status
from coilwright.planning.route import Access, AccessSite, Corner
from coilwright.protocol import Citation, Protocol
from coilwright.veins import Side

ANATOMY = Citation(
    source="anatomy of the great veins, common practice; no angle read", status=Status.FROM_MEMORY
)
NO_ANGLE = "no published angle was read"


def corners_of(access: Access, side: Side, protocol: Protocol) -> tuple[Corner, ...]:
    """From the skin to the ostium, in the order in which the catheter meets them."""
    corners = [*_to_cava(access)]
    return tuple([*corners, *(_left(protocol) if side is Side.LEFT else _right(access))])


def _to_cava(access: Access) -> list[Corner]:
    left = access.own_side is Side.LEFT
    match access.site:
        case AccessSite.NECK if left:
            return [_corner("jugular-into-brachiocephalic"), _corner("brachiocephalic-into-cava")]
        case AccessSite.ARM:
            into = [_corner("arm-vein-into-brachiocephalic")]
            return [*into, _corner("brachiocephalic-into-cava")] if left else into
        case AccessSite.GROIN if left:
            return [_corner("left-iliac-into-cava")]
    return []


def _left(protocol: Protocol) -> list[Corner]:
    angle = protocol.limit("left-ostium-angle")
    into = Corner(
        id="left-renal-vein-into-gonadal",
        title=_TITLES["left-renal-vein-into-gonadal"],
        angle_deg=angle.value,
        text=f"about {angle.value:g} degrees in most people; not measured here",
        source=angle.source,
        status=angle.status,
    )
    return [_corner("cava-into-left-renal-vein"), into]


def _right(access: Access) -> list[Corner]:
    """The right ostium lies in the cava itself; from which side it is met changes the turn."""
    onward = (
        "the device turns back on its own way, by 180 degrees less the angle between the veins"
        if access.site is AccessSite.GROIN
        else "the device goes on downwards, turning by the angle between the two veins"
    )
    text = f"{NO_ANGLE} (from memory: acute, below the right renal vein); {onward}"
    return [_corner("cava-into-right-gonadal", text)]


_TITLES = {
    "jugular-into-brachiocephalic": "left jugular into the left brachiocephalic vein",
    "brachiocephalic-into-cava": "left brachiocephalic vein into the superior cava",
    "arm-vein-into-brachiocephalic": "arm and subclavian vein into the brachiocephalic vein",
    "left-iliac-into-cava": "left common iliac vein into the cava",
    "cava-into-left-renal-vein": "cava into the left renal vein",
    "left-renal-vein-into-gonadal": "left renal vein into the gonadal vein",
    "cava-into-right-gonadal": "cava into the right gonadal vein",
}


def _corner(id: str, text: str = NO_ANGLE) -> Corner:
    return Corner(
        id=id,
        title=_TITLES[id],
        angle_deg=None,
        text=text,
        source=ANATOMY.source,
        status=ANATOMY.status,
    )
