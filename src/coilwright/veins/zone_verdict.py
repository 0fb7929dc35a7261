"""The verdict on a zone, from what was seen of it. Pure: no pixels here.

A vein that looks shut may only not have been reached: shut is said where contrast stood at the
ostium and just above the zone, under conditions that show reflux, and none came through.
"""

from dataclasses import dataclass

from coilwright.veins.comparison import (
    BAND_BOUNDS,
    ResidualBand,
    ZoneState,
    band_of,
)

INJECT = "inject the renal vein with Valsalva"
SHUT_BELOW = BAND_BOUNDS[0][0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Residual:
    """Opacity that is left as a share of that before, and one standard deviation."""

    share: float
    sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoneSeen:
    """What the completion run showed of one zone.

    ``in_picture`` false where the field does not hold it. ``came_through``: contrast in its lower
    half or beyond. ``reached``: contrast just above it or in its upper part. ``stopped_above`` is
    the name of a zone above that is shut.
    """

    in_picture: bool
    came_through: bool
    reached: bool
    residual: Residual | None
    stopped_above: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What holds for the whole run.

    ``not_comparable`` says why the two runs cannot be compared, null where they can;
    ``no_reflux_view`` why this run cannot show reflux, null where it can. ``ostium_reached`` is
    null where the map has no ostium or the run does not show it.
    """

    not_comparable: str | None
    no_reflux_view: str | None
    ostium_on_map: bool
    ostium_reached: bool | None


def verdict(seen: ZoneSeen, setting: Setting) -> tuple[ZoneState, str]:
    """The state of a zone and the sentence that says why.

    Contrast that came through is seen whatever the conditions; that none came through counts only
    where it had to.
    """
    if not seen.in_picture:
        return ZoneState.NOT_SHOWN, "not shown: it lies outside the picture or its open field"
    if seen.came_through:
        return ZoneState.STILL_OPACIFIES, "still opacifies: contrast is seen through it or beyond"
    why = _not_shown(seen, setting)
    if why is not None:
        return ZoneState.NOT_SHOWN, f"not shown: {why}"
    return ZoneState.SHUT, "shut: contrast stood above it and none came through in this run"


def _not_shown(seen: ZoneSeen, setting: Setting) -> str | None:
    why = None
    if not setting.ostium_on_map:
        why = f"the map has no ostium, so reflux may come by a collateral; {INJECT}"
    elif not setting.ostium_reached:
        why = f"{INJECT} (contrast was not seen at the ostium)"
    elif setting.not_comparable is not None:
        why = f"not comparable with the run before: {setting.not_comparable}"
    elif setting.no_reflux_view is not None:
        why = f"{INJECT} ({setting.no_reflux_view})"
    elif not seen.reached and seen.stopped_above is not None:
        why = f"contrast was stopped above it, at {seen.stopped_above}"
    elif not seen.reached:
        why = f"contrast was not seen just above it; {INJECT}"
    elif seen.residual is None or seen.residual.share + 2.0 * seen.residual.sd >= SHUT_BELOW:
        why = "the picture is too noisy there to tell; run again"
    return why


def residual_band(residual: Residual | None, setting: Setting) -> ResidualBand | None:
    """Two standard deviations either way as bands; null where the runs are not comparable."""
    if residual is None or setting.not_comparable is not None:
        return None
    return ResidualBand(
        lowest=band_of(residual.share - 2.0 * residual.sd),
        highest=band_of(residual.share + 2.0 * residual.sd),
    )
