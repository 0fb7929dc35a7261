"""The calibre that a coil is sized to: measured, relaxed, and how sure each is.

A zone's calibre is taken at its widest place. Where a narrowing overlaps the zone, its relaxed
calibre counts; where that is unknown, so is the calibre. The scrotal plexus never stands in for it.

A place is ``PLACE_MM`` of vein, not one sample: loops touching over some millimetres are what holds
a coil, and the greatest of many samples with errors is that with the greatest error, too wide by
one standard deviation or so of the fit. So the samples of a place are averaged, each by the inverse
of its variance: fits at the mouths of other veins, which are poorly known, pull little. Errors of
neighbouring fits are alike (they share pixels, and the scale), so the average is no surer than its
samples: its standard deviation is the same average of theirs, not less by the root of their number.
How that comes out against rendered veins of known calibre: ``docs/undersize.md``.

What was measured stays as measured. The relaxed calibre is carried from the depth where the scale
was taken to the vein's own, as far as that is known (``forward_course``), and says by how much.
"""

import math
from dataclasses import dataclass, replace

from coilwright.planning.calibre_jumps import CalibreJump, calibre_jump
from coilwright.planning.forward_course import CarriedScale, UnknownDepth, carried_scale
from coilwright.planning.plan import LevelCalibre
from coilwright.protocol import Protocol
from coilwright.veins import (
    Calibration,
    CalibrationMethod,
    DiameterMethod,
    Narrowing,
    VeinMap,
    Vessel,
)

# Depth is null in a map that does not know it: then the local limit stands in, and it is said.
DEPTH_ASSUMED = (
    "The map does not state the depth of the vein: the local limit for the uncertainty of scale "
    "by depth was used."
)
TOLERANCE_ASSUMED = (
    "The map does not state the catheter's manufacturing tolerance: the local limit was used."
)

# The close-wound nests of usual coils are 5 to 10 mm long (docs/nest-length.md: 50 mm of wire of
# 0.889 mm give 4.5 mm in a vein of 4 mm, 140 mm give 9.6 mm in one of 5 mm): the shortest counts.
PLACE_MM = 5.0
# A map states its standard deviations to this; one of zero is taken as no smaller.
_LEAST_SD_MM = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoneCalibre:
    """What is known of the calibre of one zone.

    ``known_share`` is the part of the samples that has a calibre, 0 to 1; ``narrowings`` those
    that overlap the zone; ``jump`` a calibre that changes in or beside it faster than a vein's.
    """

    measured: LevelCalibre | None
    relaxed: LevelCalibre | None
    known_share: float
    narrowings: tuple[Narrowing, ...]
    assumptions: tuple[str, ...]
    jump: CalibreJump | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sample:
    arc_mm: float
    diameter_mm: float
    sd_mm: float
    depth_relative_sd: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scaling:
    """What turns a sample into a calibre: the map's scale, its depth, the local limits.

    ``depth`` is null where the calibre was stated by hand: no scale stands behind it.
    ``near_relative_sd`` is the map's uncertainty of depth where that is least, at the catheter.
    """

    calibration: Calibration
    depth: CarriedScale | UnknownDepth | None
    near_relative_sd: float | None
    protocol: Protocol

    @property
    def depth_limit(self) -> float:
        return self.protocol.limit("depth-relative-sd").value / 100.0


def calibre_of_zone(
    vein_map: VeinMap, vessel: Vessel, from_mm: float, to_mm: float, protocol: Protocol
) -> ZoneCalibre:
    """Measured and relaxed calibre of the stretch of ``vessel`` from ``from_mm`` to ``to_mm``.

    The relaxed calibre is null where a narrowing of unknown relaxed calibre overlaps, where
    nothing was measured, or where less than the protocol's share of the zone was.
    """
    scaling = _scaling(vein_map, vessel, protocol)
    samples, count = _samples(vessel, from_mm, to_mm)
    narrowings = tuple(n for n in vessel.narrowings if n.to_mm > from_mm and n.from_mm < to_mm)
    share = len(samples) / count if count else 0.0
    places = [_place(samples, sample) for sample in samples]
    widest = max(places, key=lambda place: place.diameter_mm, default=None)
    relaxed = _relaxed(places, narrowings, to_mm, scaling)
    enough = 100.0 * share >= protocol.limit("calibre-known-share-min").value
    return ZoneCalibre(
        measured=_measured(widest, scaling),
        relaxed=_with_physiology(*relaxed, scaling) if relaxed and enough else None,
        known_share=share,
        narrowings=narrowings,
        assumptions=_assumed(widest, scaling),
        jump=calibre_jump(vessel, from_mm, to_mm, protocol),
    )


def measurement_sd_parts_mm(
    diameter_mm: float,
    stated_sd_mm: float,
    depth_relative_sd: float | None,
    calibration: Calibration,
    protocol: Protocol,
    *,
    stated_by_hand: bool = False,
) -> dict[str, float]:
    """The parts of a measured diameter's standard deviation, in millimetres.

    Fit and scale come from the map as one figure; the scale's part is common to the whole vein, so
    no averaging over samples ever makes it smaller here. The header's scale is as unsure as it is
    because of the vein's depth alone: of the depth's part, only what goes beyond that is added.
    A calibre that was stated by hand in millimetres has no scale behind it.
    """
    if stated_by_hand:
        return {"as stated by hand": stated_sd_mm}
    depth = depth_relative_sd
    if depth is None:
        depth = protocol.limit("depth-relative-sd").value / 100.0
    if calibration.method is CalibrationMethod.HEADER_GEOMETRY:
        depth = math.sqrt(max(0.0, depth**2 - calibration.relative_sd**2))
    return {
        "fit and scale": stated_sd_mm,
        "depth": diameter_mm * depth,
        "catheter tolerance": diameter_mm * _tolerance(calibration, protocol),
    }


def combined_mm(parts_mm: dict[str, float]) -> float:
    """Root of the sum of squares: the parts are taken as independent."""
    return math.hypot(*parts_mm.values())


def _scaling(vein_map: VeinMap, vessel: Vessel, protocol: Protocol) -> _Scaling:
    stated = vessel.diameter_method is DiameterMethod.GIVEN
    return _Scaling(
        calibration=vein_map.calibration,
        depth=None if stated else carried_scale(vein_map, vessel, protocol),
        near_relative_sd=min(
            (sd for sd in vessel.depth_relative_sd if sd is not None), default=None
        ),
        protocol=protocol,
    )


def _samples(vessel: Vessel, from_mm: float, to_mm: float) -> tuple[list[_Sample], int]:
    inside = [i for i, at_mm in enumerate(vessel.arc_mm) if from_mm <= at_mm <= to_mm]
    known = [
        _Sample(
            arc_mm=vessel.arc_mm[i],
            diameter_mm=diameter,
            sd_mm=sd,
            depth_relative_sd=vessel.depth_relative_sd[i],
        )
        for i in inside
        if (diameter := vessel.diameter_mm[i]) is not None
        and (sd := vessel.diameter_sd_mm[i]) is not None
    ]
    return known, len(inside)


def _place(samples: list[_Sample], middle: _Sample) -> _Sample:
    """The calibre about a sample: its neighbours' mean by inverse variance, no surer than they."""
    near = [s for s in samples if abs(s.arc_mm - middle.arc_mm) <= PLACE_MM / 2]
    weights = [max(s.sd_mm, _LEAST_SD_MM) ** -2 for s in near]

    def mean(own: float, values: list[float]) -> float:
        # As a step from the middle's own value, so that equal values give just that value.
        steps = (weight * (value - own) for weight, value in zip(weights, values, strict=True))
        return own + math.fsum(steps) / math.fsum(weights)

    return replace(
        middle,
        diameter_mm=mean(middle.diameter_mm, [s.diameter_mm for s in near]),
        sd_mm=mean(middle.sd_mm, [s.sd_mm for s in near]),
    )


def _relaxed(
    places: list[_Sample], narrowings: tuple[Narrowing, ...], to_mm: float, scaling: _Scaling
) -> tuple[_Sample, str] | None:
    """The widest of places and relaxed narrowings at the vein's own depth, and where it is from."""
    if not places:
        return None
    found = [_carried(place, _at_widest(scaling), scaling) for place in places]
    for narrowing in narrowings:
        diameter_mm, sd_mm = narrowing.relaxed_diameter_mm, narrowing.relaxed_sd_mm
        if diameter_mm is None or sd_mm is None:
            return None
        # Its lower end, where a vein that comes forward is read the smallest.
        end_mm = min(narrowing.to_mm, to_mm)
        beside = min(places, key=lambda place: abs(place.arc_mm - end_mm))
        sample = replace(beside, arc_mm=end_mm, diameter_mm=diameter_mm, sd_mm=sd_mm)
        where_from = (
            f"relaxed calibre of the narrowing at {narrowing.from_mm:.0f} to "
            f"{narrowing.to_mm:.0f} mm, as the map states it"
        )
        found.append(_carried(sample, where_from, scaling))
    return max(found, key=lambda one: one[0].diameter_mm)


def _measured(widest: _Sample | None, scaling: _Scaling) -> LevelCalibre | None:
    if widest is None:
        return None
    parts_mm = _parts(widest, scaling)
    return LevelCalibre(
        diameter_mm=widest.diameter_mm,
        sd_mm=combined_mm(parts_mm),
        where_from=_at_widest(scaling),
        sd_parts_mm=parts_mm,
    )


def _with_physiology(sample: _Sample, where_from: str, scaling: _Scaling) -> LevelCalibre:
    phase = scaling.protocol.limit("phase-relative-sd").value / 100.0
    layering = scaling.protocol.limit("layering-relative-sd").value / 100.0
    parts_mm = _parts(sample, scaling) | {
        "breathing and Valsalva": sample.diameter_mm * phase,
        "layering of contrast": sample.diameter_mm * layering,
    }
    return LevelCalibre(
        diameter_mm=sample.diameter_mm,
        sd_mm=combined_mm(parts_mm),
        where_from=where_from,
        sd_parts_mm=parts_mm,
    )


def _carried(sample: _Sample, where_from: str, scaling: _Scaling) -> tuple[_Sample, str]:
    """The sample at the vein's own depth, and where it is from with what was done to it.

    Where the course is known its uncertainty takes the place of the map's, which grows away from
    the catheter for the very same reason; where it is not, the wider of map and limit counts.
    """
    depth = scaling.depth
    if depth is None:
        return sample, where_from
    if isinstance(depth, UnknownDepth):
        wider = max(sample.depth_relative_sd or 0.0, scaling.depth_limit)
        words = f"{where_from}; depth counted in both directions"
        return replace(sample, depth_relative_sd=wider), words
    near = scaling.depth_limit if scaling.near_relative_sd is None else scaling.near_relative_sd
    shift = depth.shift(sample.arc_mm)
    carried = replace(
        sample,
        diameter_mm=sample.diameter_mm * (1.0 + shift),
        sd_mm=sample.sd_mm * (1.0 + shift),
        depth_relative_sd=math.hypot(near, depth.relative_sd(sample.arc_mm)),
    )
    sign = "+" if shift >= 0 else "-"
    words = f"the vein comes forward: {sign} {100 * abs(shift):.1f} %"
    return carried, f"{where_from}; scale carried from the catheter's depth; {words}"


def _at_widest(scaling: _Scaling) -> str:
    how = "measured" if scaling.depth is not None else "as stated by hand"
    return f"{how}, at the widest place of the zone"


def _parts(sample: _Sample, scaling: _Scaling) -> dict[str, float]:
    return measurement_sd_parts_mm(
        sample.diameter_mm,
        sample.sd_mm,
        sample.depth_relative_sd,
        scaling.calibration,
        scaling.protocol,
        stated_by_hand=scaling.depth is None,
    )


def _tolerance(calibration: Calibration, protocol: Protocol) -> float:
    if calibration.tolerance_relative_sd is not None:
        return calibration.tolerance_relative_sd
    if calibration.method is not CalibrationMethod.CATHETER:
        return 0.0
    return protocol.limit("catheter-tolerance-relative-sd").value / 100.0


def _assumed(widest: _Sample | None, scaling: _Scaling) -> tuple[str, ...]:
    if widest is None or scaling.depth is None:
        return ()
    assumed = [scaling.depth.text]
    if widest.depth_relative_sd is None:
        assumed.append(DEPTH_ASSUMED)
    calibration = scaling.calibration
    if calibration.tolerance_relative_sd is None and (
        calibration.method is CalibrationMethod.CATHETER
    ):
        assumed.append(TOLERANCE_ASSUMED)
    return tuple(assumed)
