"""The calibre that a coil is sized to: measured, relaxed, and how sure each is.

A zone's calibre is taken at its widest. Where a narrowing overlaps the zone, its relaxed calibre
counts; where that is unknown, so is the calibre. The scrotal plexus never stands in for it.
"""

import math
from dataclasses import dataclass

from coilwright.planning.plan import LevelCalibre
from coilwright.protocol import Protocol
from coilwright.veins import Calibration, CalibrationMethod, Narrowing, Vessel

# Depth is null in a map that does not know it: then the local limit stands in, and it is said.
DEPTH_ASSUMED = (
    "The map does not state the depth of the vein: the local limit for the uncertainty of scale "
    "by depth was used."
)
TOLERANCE_ASSUMED = (
    "The map does not state the catheter's manufacturing tolerance: the local limit was used."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoneCalibre:
    """What is known of the calibre of one zone.

    ``known_share`` is the part of the samples that has a calibre, 0 to 1; ``narrowings`` those
    that overlap the zone.
    """

    measured: LevelCalibre | None
    relaxed: LevelCalibre | None
    known_share: float
    narrowings: tuple[Narrowing, ...]
    assumptions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sample:
    diameter_mm: float
    sd_mm: float
    depth_relative_sd: float | None


def calibre_of_zone(
    vessel: Vessel, from_mm: float, to_mm: float, calibration: Calibration, protocol: Protocol
) -> ZoneCalibre:
    """Measured and relaxed calibre of the stretch from ``from_mm`` to ``to_mm``.

    The relaxed calibre is null where a narrowing of unknown relaxed calibre overlaps, where
    nothing was measured, or where less than the protocol's share of the zone was.
    """
    samples, count = _samples(vessel, from_mm, to_mm)
    narrowings = tuple(n for n in vessel.narrowings if n.to_mm > from_mm and n.from_mm < to_mm)
    share = len(samples) / count if count else 0.0
    widest = max(samples, key=lambda sample: sample.diameter_mm, default=None)
    relaxed = _relaxed(widest, narrowings)
    enough = 100.0 * share >= protocol.limit("calibre-known-share-min").value
    return ZoneCalibre(
        measured=_measured(widest, calibration, protocol),
        relaxed=_with_physiology(relaxed, calibration, protocol) if relaxed and enough else None,
        known_share=share,
        narrowings=narrowings,
        assumptions=_assumed(widest, calibration),
    )


def measurement_sd_parts_mm(
    diameter_mm: float,
    stated_sd_mm: float,
    depth_relative_sd: float | None,
    calibration: Calibration,
    protocol: Protocol,
) -> dict[str, float]:
    """The parts of a measured diameter's standard deviation, in millimetres.

    Fit and scale come from the map as one figure; the scale's part is common to the whole vein, so
    no averaging over samples ever makes it smaller here.
    """
    depth = depth_relative_sd
    if depth is None:
        depth = protocol.limit("depth-relative-sd").value / 100.0
    return {
        "fit and scale": stated_sd_mm,
        "depth": diameter_mm * depth,
        "catheter tolerance": diameter_mm * _tolerance(calibration, protocol),
    }


def combined_mm(parts_mm: dict[str, float]) -> float:
    """Root of the sum of squares: the parts are taken as independent."""
    return math.hypot(*parts_mm.values())


def _samples(vessel: Vessel, from_mm: float, to_mm: float) -> tuple[list[_Sample], int]:
    inside = [i for i, at_mm in enumerate(vessel.arc_mm) if from_mm <= at_mm <= to_mm]
    known = [
        _Sample(diameter_mm=diameter, sd_mm=sd, depth_relative_sd=vessel.depth_relative_sd[i])
        for i in inside
        if (diameter := vessel.diameter_mm[i]) is not None
        and (sd := vessel.diameter_sd_mm[i]) is not None
    ]
    return known, len(inside)


def _relaxed(
    widest: _Sample | None, narrowings: tuple[Narrowing, ...]
) -> tuple[_Sample, str] | None:
    """The wider of what was measured and what a narrowing relaxes to, with where it comes from."""
    if widest is None:
        return None
    best, where_from = widest, "measured, at the widest place of the zone"
    for narrowing in narrowings:
        diameter_mm, sd_mm = narrowing.relaxed_diameter_mm, narrowing.relaxed_sd_mm
        if diameter_mm is None or sd_mm is None:
            return None
        if diameter_mm > best.diameter_mm:
            best = _Sample(
                diameter_mm=diameter_mm, sd_mm=sd_mm, depth_relative_sd=widest.depth_relative_sd
            )
            where_from = (
                f"relaxed calibre of the narrowing at {narrowing.from_mm:.0f} to "
                f"{narrowing.to_mm:.0f} mm, as the map states it"
            )
    return best, where_from


def _measured(
    widest: _Sample | None, calibration: Calibration, protocol: Protocol
) -> LevelCalibre | None:
    if widest is None:
        return None
    parts_mm = _parts(widest, calibration, protocol)
    return LevelCalibre(
        diameter_mm=widest.diameter_mm,
        sd_mm=combined_mm(parts_mm),
        where_from="measured, at the widest place of the zone",
        sd_parts_mm=parts_mm,
    )


def _with_physiology(
    relaxed: tuple[_Sample, str], calibration: Calibration, protocol: Protocol
) -> LevelCalibre:
    sample, where_from = relaxed
    phase = protocol.limit("phase-relative-sd").value / 100.0
    layering = protocol.limit("layering-relative-sd").value / 100.0
    parts_mm = _parts(sample, calibration, protocol) | {
        "breathing and Valsalva": sample.diameter_mm * phase,
        "layering of contrast": sample.diameter_mm * layering,
    }
    return LevelCalibre(
        diameter_mm=sample.diameter_mm,
        sd_mm=combined_mm(parts_mm),
        where_from=where_from,
        sd_parts_mm=parts_mm,
    )


def _parts(sample: _Sample, calibration: Calibration, protocol: Protocol) -> dict[str, float]:
    return measurement_sd_parts_mm(
        sample.diameter_mm, sample.sd_mm, sample.depth_relative_sd, calibration, protocol
    )


def _tolerance(calibration: Calibration, protocol: Protocol) -> float:
    if calibration.tolerance_relative_sd is not None:
        return calibration.tolerance_relative_sd
    if calibration.method is not CalibrationMethod.CATHETER:
        return 0.0
    return protocol.limit("catheter-tolerance-relative-sd").value / 100.0


def _assumed(widest: _Sample | None, calibration: Calibration) -> tuple[str, ...]:
    assumed = []
    if widest is not None and widest.depth_relative_sd is None:
        assumed.append(DEPTH_ASSUMED)
    if calibration.tolerance_relative_sd is None and (
        calibration.method is CalibrationMethod.CATHETER
    ):
        assumed.append(TOLERANCE_ASSUMED)
    return tuple(assumed)
