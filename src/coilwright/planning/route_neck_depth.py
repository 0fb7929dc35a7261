"""From the skin of the neck to the atrium: the only part of the route with a published figure.

Each formula gives a depth for its own target, at or above the junction of superior cava and right
atrium (that of Peres is taken as the junction itself: the summaries that were read do not say).
Carried on to that junction they and the published mean distance disagree by centimetres; none was
read with a spread for single patients. So the interval is one of prediction: it spans them all,
and beyond each the local spread of single patients, with that of the way to the junction where
one was published. Nothing below the junction is part of it.

References
----------
Peres PW, Anaesth Intensive Care 1990;18:536-539: right height/10, left height/10 + 4 (restated).
Lee J et al., Int J Med Sci 2024;21:431-438: right height/10 - 1.5 (r 0.703, right in 71.9 %).
Modified formula of Peres, Indian J Anaesth 2022 (randomised study): right height/10 - 2, to the
carina.
"""

import math
from dataclasses import dataclass

from coilwright.advice import Status
from coilwright.planning.route_length import RouteLength
from coilwright.protocol import Basis, Citation, Protocol
from coilwright.veins import Side

CM_PER_HEIGHT_CM = 0.1
MM_PER_CM = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckFormula:
    """Depth = height / 10 + offset, in cm; ``left_offset_cm`` null where none is published.

    ``above_junction`` is the limit that says how far above the junction its target lies (null: at
    the junction), ``above_sd`` the one that says how much that differs between patients.
    """

    right_offset_cm: float
    left_offset_cm: float | None
    above_junction: str | None
    citation: Citation
    above_sd: str | None = None

    def offset_cm(self, side: Side) -> float | None:
        """What is added to a tenth of the height; null where nothing is published of this side."""
        return self.right_offset_cm if side is Side.RIGHT else self.left_offset_cm

    def depth_cm(self, side: Side, height_cm: float) -> float | None:
        """The depth as published, to the formula's own target."""
        offset_cm = self.offset_cm(side)
        return None if offset_cm is None else CM_PER_HEIGHT_CM * height_cm + offset_cm


PERES = "peres-1990"
FORMULAS = {
    PERES: NeckFormula(
        right_offset_cm=0.0,
        left_offset_cm=4.0,
        above_junction=None,
        citation=Citation(
            source="Peres PW, Anaesth Intensive Care 1990;18:536-539", status=Status.RESTATED
        ),
    ),
    "lee-2024": NeckFormula(
        right_offset_cm=-1.5,
        left_offset_cm=None,
        above_junction="neck-depth-lee-above-junction",
        citation=Citation(
            source="Lee J et al., Int J Med Sci 2024;21:431-438", status=Status.PUBLISHED
        ),
    ),
    "modified-peres-2022": NeckFormula(
        right_offset_cm=-2.0,
        left_offset_cm=None,
        above_junction="carina-above-junction",
        above_sd="carina-above-junction-sd",
        citation=Citation(
            source="Optimal positioning of right internal jugular venous catheter (randomised "
            "study), Indian J Anaesth 2022",
            status=Status.PUBLISHED,
        ),
    ),
}
ANY_HEIGHT = "mean of a series, any height"
MEANS = {Side.RIGHT: "neck-distance-right-mean", Side.LEFT: "neck-distance-left-mean"}


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckDepth:
    """Skin to the junction of superior cava and atrium, for one patient.

    ``followed`` is the formula in the middle of the range, ``not_followed`` the site's choice where
    that has no figure for this side; ``each_cm`` every published figure, carried on to the
    junction.
    """

    length: RouteLength
    followed: str
    not_followed: str | None
    each_cm: dict[str, float]
    basis: tuple[Basis, ...]


def neck_depth(side: Side, height_cm: float, protocol: Protocol) -> NeckDepth | None:
    """The published depth from the jugular vein of ``side``, with its interval of prediction.

    Parameters
    ----------
    height_cm
        Body height. Null below the local limit: the formulas were made on adults.
    """
    if height_cm < protocol.limit("neck-depth-height-min").value:
        return None
    spread_cm = protocol.limit("neck-depth-sd").value
    mean_cm = protocol.limit(MEANS[side]).value
    each = _to_junction(side, height_cm, protocol)
    ranges = [(depth_cm, math.hypot(spread_cm, sd_cm)) for depth_cm, sd_cm in each.values()]
    ranges.append((mean_cm, spread_cm))
    cover = protocol.limit("route-length-cover").value
    chosen = protocol.choice("neck-depth-formula").value
    followed = chosen if chosen in each else PERES
    return NeckDepth(
        length=RouteLength(
            value_mm=each[followed][0] * MM_PER_CM,
            low_mm=max(0.0, min(cm - cover * sd_cm for cm, sd_cm in ranges)) * MM_PER_CM,
            high_mm=max(cm + cover * sd_cm for cm, sd_cm in ranges) * MM_PER_CM,
        ),
        followed=followed,
        not_followed=None if chosen in each else chosen,
        each_cm={id: depth_cm for id, (depth_cm, _) in each.items()} | {ANY_HEIGHT: mean_cm},
        basis=depth_basis(side, protocol),
    )


def depth_basis(side: Side, protocol: Protocol) -> tuple[Basis, ...]:
    """Every source, limit and choice that the depth from this side rests on."""
    used = [formula for formula in FORMULAS.values() if formula.offset_cm(side) is not None]
    carried = [id for one in used for id in (one.above_junction, one.above_sd) if id is not None]
    limits = (MEANS[side], "neck-depth-sd", "route-length-cover", *carried)
    return (
        *(formula.citation for formula in used),
        protocol.choice("neck-depth-formula"),
        *(protocol.limit(id) for id in limits),
    )


def _to_junction(
    side: Side, height_cm: float, protocol: Protocol
) -> dict[str, tuple[float, float]]:
    """Each formula's depth carried on to the junction, with the spread of that last part, in cm."""
    carried = {}
    for id, formula in FORMULAS.items():
        depth_cm = formula.depth_cm(side, height_cm)
        if depth_cm is None:
            continue
        above, above_sd = (
            0.0 if limit is None else protocol.limit(limit).value
            for limit in (formula.above_junction, formula.above_sd)
        )
        carried[id] = (depth_cm + above, above_sd)
    return carried
