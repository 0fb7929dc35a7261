"""What each technique might leave, on the same draws: bands alone, and where to look."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import median

import numpy as np

from coilwright.advice import Advisory
from coilwright.planning.hydrostatic_head import Column
from coilwright.planning.landing_zones import Stretch
from coilwright.planning.level_calibre import combined_mm, measurement_sd_parts_mm
from coilwright.planning.look_here import LookHere
from coilwright.planning.network_words import in_places, point_words
from coilwright.planning.plan_network import PlanNetwork, ostium_mm
from coilwright.planning.residual_reflux import BandShare, ResidualComparison, compare_residual
from coilwright.planning.technique_table import PlaceToLook, Technique
from coilwright.protocol import Protocol
from coilwright.veins import VeinMap, Vessel

# Enough to tell bands apart: a share of draws is then sure to about one in a hundred.
DRAWS = 2000
# Fixed, so that the same case gives the same answer; any other would do.
SEED = 20260101
# The tilt at which the vein refluxes; on the table it plays no part in what an option leaves.
STANDING_DEG = 90.0
STANDING = (
    "For residual reflux the column of blood is that of a person standing, from the ostium to the "
    "distal level; the table's tilt plays no part in it."
)
NOT_WORKED_OUT = "not worked out"
_HALF, _TWENTIETH = 0.5, 0.95
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class TechniqueReflux:
    """The comparison of the techniques whose veins are known."""

    comparison: ResidualComparison
    network: PlanNetwork

    def bands(self, technique: Technique) -> tuple[BandShare, ...]:
        """The bands of a technique; none where it was not compared."""
        found = [one for one in self.comparison.options if one.option == technique]
        return found[0].bands if found else ()

    @property
    def advisories(self) -> tuple[Advisory, ...]:
        """What has to be said beside the comparison, by places of the map."""
        return tuple(
            replace(one, text=in_places(self.network, one.text))
            for one in self.comparison.advisories
        )

    def look_here(self, technique: Technique) -> tuple[PlaceToLook, ...]:
        """Where one unseen channel would matter most after a technique, by places of the map."""
        found = [one for one in self.comparison.options if one.option == technique]
        return tuple(_place(self.network, one) for one in found[0].look_here) if found else ()


def technique_reflux(
    vein_map: VeinMap,
    trunk: Vessel,
    network: PlanNetwork,
    distal: Stretch | None,
    shut: Mapping[Technique, frozenset[str]],
    protocol: Protocol,
) -> TechniqueReflux | None:
    """Compare techniques by what they might leave; null where none is worked out."""
    column = column_of(vein_map, trunk, distal)
    scale_sd = scale_relative_sd(vein_map, trunk, protocol)
    if not shut or column is None or scale_sd >= 1.0:
        return None
    comparison = compare_residual(
        network.network,
        {technique.value: veins for technique, veins in shut.items()},
        protocol,
        column=column,
        scale_relative_sd=scale_sd,
        draws=DRAWS,
        generator=np.random.default_rng(SEED),
    )
    return TechniqueReflux(comparison=comparison, network=network)


def column_of(vein_map: VeinMap, trunk: Vessel, distal: Stretch | None) -> Column | None:
    """From the ostium, or where the trunk is first seen, to the distal level or the trunk's end.

    Projected, so a lower bound; the standard deviation is that of the scale and of the mark. Null
    where the ostium's mark lies below all of that.
    """
    arc_mm, mark = ostium_mm(vein_map, trunk), vein_map.landmarks.ostium
    from_mm = trunk.arc_mm[0] if arc_mm is None else arc_mm
    to_mm = trunk.arc_mm[-1] if distal is None else distal.to_mm
    length_mm = to_mm - from_mm
    if length_mm <= 0.0:
        return None
    mark_sd_mm = 0.0 if mark is None else mark.sd_mm
    return Column(
        length_mm=length_mm,
        length_sd_mm=math.hypot(length_mm * vein_map.calibration.relative_sd, mark_sd_mm),
        tilt_deg=STANDING_DEG,
        projected=True,
    )


def scale_relative_sd(vein_map: VeinMap, trunk: Vessel, protocol: Protocol) -> float:
    """Calibration, depth and catheter tolerance together, common to the whole vein."""
    depths = [depth for depth in trunk.depth_relative_sd if depth is not None]
    calibration = vein_map.calibration
    parts = measurement_sd_parts_mm(
        1.0, calibration.relative_sd, median(depths) if depths else None, calibration, protocol
    )
    return combined_mm(parts)


def residual_words(bands: Sequence[BandShare]) -> str:
    """What half of the draws and nineteen of twenty leave at most, in bands.

    Examples
    --------
    >>> residual_words([BandShare(band="nothing", share_of_draws=0.9),
    ...                 BandShare(band="little of it", share_of_draws=0.1)])
    'at least half of the draws: nothing; nineteen of twenty: little of it or less'
    """
    if not bands:
        return NOT_WORKED_OUT
    half, most = (_least_band(bands, share) for share in (_HALF, _TWENTIETH))
    lowest = bands[0].band
    if half == most:
        return f"nineteen of twenty draws: {_or_less(most, lowest)}"
    return (
        f"at least half of the draws: {_or_less(half, lowest)}; nineteen of twenty: {most} or less"
    )


def _or_less(band: str, lowest: str) -> str:
    return band if band == lowest else f"{band} or less"


def _least_band(bands: Sequence[BandShare], share: float) -> str:
    """The least band that this share of the draws does not pass."""
    reached = 0.0
    for one in bands:
        reached += one.share_of_draws
        if reached >= share - _ROUNDING:
            return one.band
    return bands[-1].band


def _place(network: PlanNetwork, found: LookHere) -> PlaceToLook:
    leaves, rejoins = (point_words(network, point) for point in (found.leaves, found.rejoins))
    return PlaceToLook(
        leaves=leaves,
        leaves_stretch=found.leaves_stretch,
        rejoins=rejoins,
        rejoins_stretch=found.rejoins_stretch,
        band=found.band,
        text=(
            f"Worth a look before finishing: a channel that nobody saw from {leaves} "
            f"({found.leaves_stretch.value}) to {rejoins} ({found.rejoins_stretch.value}) could "
            f"leave {found.band}."
        ),
    )
