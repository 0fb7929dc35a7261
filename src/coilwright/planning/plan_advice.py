"""What has to be said about the plan as a whole, and what it takes for granted."""

from collections.abc import Iterator, Sequence
from datetime import date

from coilwright.advice import Advisory, Status, Urgency
from coilwright.planning.levels import OSTIUM_MISSING, RAMUS_MISSING
from coilwright.planning.plan import CalibrationSummary, Level
from coilwright.protocol import COMMON_PRACTICE, Citation, Protocol, advise
from coilwright.veins import CalibrationMethod, DiameterMethod, VeinMap

PLANNING_LIMITS = (
    "landing-zone-length",
    "distal-offset-above-floor",
    "floor-mark-cover",
    "distal-slide-max",
    "upper-end-below-ostium-min",
    "upper-end-below-ostium-max",
    "upper-end-below-cava-ostium-min",
    "upper-end-below-cava-ostium-max",
    "mouth-clearance",
    "mouth-reported-within",
    "mark-to-vein-max",
    "depth-relative-sd",
    "catheter-tolerance-relative-sd",
    "phase-relative-sd",
    "layering-relative-sd",
    "calibre-known-share-min",
    "forward-course-low",
    "forward-course-high",
    "forward-course-length",
    "forward-course-primary-angle-max",
    "forward-course-secondary-angle-max",
    "calibre-jump-min",
    "coil-oversize-min",
    "coil-oversize-max",
    "coil-oversize-min-mm",
    "coil-oversize-max-mm",
    "coil-undersized-probability-max",
    "coil-fold-lumen-ratio",
    "wire-past-hub",
    "microcatheter-past-hub",
    "landing-zone-turn-max",
    "vein-for-coil-min",
    "coil-nest-length",
    "coils-per-level-least",
    "middle-level-vein-min",
    "plug-oversize-min",
    "plug-oversize-max",
)
FROM_THE_MAP = Citation(source="computed from the vein map", status=Status.COMPUTED)

ASSUMPTIONS = (
    "Every length is projected on the picture: the vein itself is at least that long.",
    "The scale's error is taken as common to the whole vein; it is not averaged down.",
    "The relaxed calibre is taken as normally distributed, cut off at zero, around the figure "
    "given; fit, depth, catheter tolerance, breathing and layering are taken as independent.",
    "Packing is one coil's wire over the whole landing zone: information, not a measure of "
    "closure. No number of coils is claimed to be enough.",
    "Nest lengths are those of one layer of loops, close-wound to drawn out; a real nest folds "
    "and lies between.",
)


# The code under which a vein map warns that catheter and header give different scales.
SCALES_DISAGREE = "catheter-header-disagree"


def advise_plan(
    vein_map: VeinMap, levels: Sequence[Level], protocol: Protocol, on: date | None
) -> Iterator[Advisory]:
    """Every advisory that speaks of the plan as a whole."""
    yield from _scale_in_doubt(vein_map)
    trunk = vein_map.trunk
    if trunk is None:
        yield _no_trunk()
    else:
        yield _two_levels(levels)
        if trunk.diameter_method is DiameterMethod.EDGE_WIDTH:
            yield _edge_width()
        if vein_map.catheter.in_vessel not in (None, trunk.id):
            yield _tip_elsewhere(str(vein_map.catheter.in_vessel))
    yield from _shelf_short(levels)
    if vein_map.side is None:
        yield _side_missing()
    if on is None:
        yield _date_missing()
    yield from _unsigned(protocol)


def further_missing(vein_map: VeinMap) -> Iterator[str]:
    """Inputs that would make the plan surer and that the map does not hold."""
    if vein_map.landmarks.superior_ramus_edge is None:
        yield RAMUS_MISSING
    if vein_map.landmarks.ostium is None:
        yield OSTIUM_MISSING
    if vein_map.catheter.tip_px is None:
        yield "catheter tip (catheter.tip_px)"
    elif vein_map.catheter.in_vessel is None:
        yield "the vessel that the catheter's tip lies in (catheter.in_vessel)"
    if vein_map.quality.motion_corrected_mm is None:
        yield "breathing shift (quality.motion_corrected_mm)"
    if any(run.conditions.valsalva is None for run in vein_map.runs):
        yield "whether the runs were taken with Valsalva (conditions.valsalva)"


def calibration_summary(vein_map: VeinMap) -> CalibrationSummary:
    """What the map's millimetres rest on, in numbers and in one sentence."""
    calibration, trunk = vein_map.calibration, vein_map.trunk
    return CalibrationSummary(
        mm_per_pixel=calibration.mm_per_pixel,
        relative_sd=calibration.relative_sd,
        method=calibration.method,
        catheter_fr=calibration.catheter_fr,
        diameter_method=None if trunk is None else trunk.diameter_method,
        text=_scale_words(vein_map),
        warnings=calibration.warnings,
    )


def _scale_words(vein_map: VeinMap) -> str:
    calibration, trunk = vein_map.calibration, vein_map.trunk
    scales = {
        CalibrationMethod.CATHETER: "scale from the catheter's width",
        CalibrationMethod.RULER: "scale from a ruler",
        CalibrationMethod.HEADER_GEOMETRY: "scale from the header's geometry",
        CalibrationMethod.GIVEN: "scale as given by the operator",
    }
    widths = {
        DiameterMethod.PROFILE: "calibre fitted to the contrast profile",
        DiameterMethod.EDGE_WIDTH: "calibre estimated from edge to edge, with wide uncertainty",
        DiameterMethod.GIVEN: "calibre as given by hand",
    }
    by_catheter = calibration.method is CalibrationMethod.CATHETER and calibration.catheter_words
    size = f" ({calibration.catheter_words})" if by_catheter else ""
    words = (
        f"{scales[calibration.method]}{size}: {calibration.mm_per_pixel:.4f} mm per pixel "
        f"+- {100 * calibration.relative_sd:.1f} %"
    )
    return words if trunk is None else f"{words}; {widths[trunk.diameter_method]}"


def _no_trunk() -> Advisory:
    return advise(
        rule="no-trunk",
        urgency=Urgency.STOP_AND_THINK,
        text=(
            "No levels: the map shows no main gonadal vein. Not shown: inject it again, or mark "
            "which vessel it is."
        ),
        basis=(FROM_THE_MAP,),
        missing=("the trunk on the vein map",),
    )


def _two_levels(levels: Sequence[Level]) -> Advisory:
    names = " and ".join(level.name for level in levels) or "none"
    both = len(levels) >= 2
    return advise(
        rule="two-levels",
        urgency=Urgency.INFO if both else Urgency.CAUTION,
        text=(
            "Advised: a distal level and at least one upper level, or sclerosant between; "
            "recurrence comes from veins that nobody saw. "
            f"Worked out here: {names}." + ("" if both else " The plan is not complete.")
        ),
        basis=(COMMON_PRACTICE,),
        value=float(len(levels)),
        limit=2.0,
        unit="count",
    )


def _shelf_short(levels: Sequence[Level]) -> Iterator[Advisory]:
    """The same coil heads more levels than there are of it on the shelf."""
    firsts = [choice for level in levels for choice in level.choices if choice.rank == 1]
    for device in dict.fromkeys(choice.device for choice in firsts):
        same = [choice for choice in firsts if choice.device == device]
        if len(same) > same[0].shelf_count:
            yield advise(
                rule="first-choice-short",
                urgency=Urgency.CAUTION,
                text=(
                    f"{same[0].name} is the first choice at {len(same)} levels, and "
                    f"{same[0].shelf_count} is on the shelf: the second choice serves the other."
                ),
                basis=(FROM_THE_MAP,),
                value=float(len(same)),
                limit=float(same[0].shelf_count),
                unit="count",
            )


def _scale_in_doubt(vein_map: VeinMap) -> Iterator[Advisory]:
    """Every size in the plan follows the scale: two scales that differ are one error somewhere."""
    for notice in vein_map.calibration.warnings:
        if notice.code == SCALES_DISAGREE:
            yield advise(
                rule="scale-in-doubt",
                urgency=Urgency.STOP_AND_THINK,
                text=f"Every size here follows the scale, and it is in doubt: {notice.text}.",
                basis=(FROM_THE_MAP,),
                inputs={"mm_per_pixel": f"{vein_map.calibration.mm_per_pixel:.4f} mm"},
            )


def _edge_width() -> Advisory:
    return advise(
        rule="edge-width-calibre",
        urgency=Urgency.CAUTION,
        text=(
            "Calibre was estimated from edge to edge (display-processed or single-frame picture): "
            "its uncertainty is wide and goes into every chance shown here."
        ),
        basis=(FROM_THE_MAP,),
    )


def _tip_elsewhere(vessel: str) -> Advisory:
    return advise(
        rule="tip-not-in-trunk",
        urgency=Urgency.CAUTION,
        text=f"The catheter's tip lies in {vessel}: main vein or side branch?",
        basis=(FROM_THE_MAP,),
        inputs={"catheter.in_vessel": vessel},
    )


def _side_missing() -> Advisory:
    return advise(
        rule="side-missing",
        urgency=Urgency.CAUTION,
        text="The side is not stated on the map and is not guessed: state left or right.",
        basis=(FROM_THE_MAP,),
        missing=("side (left or right)",),
    )


def _date_missing() -> Advisory:
    return advise(
        rule="expiry-not-judged",
        urgency=Urgency.CAUTION,
        text="No date was given, so no expiry was judged: look at the pack.",
        basis=(FROM_THE_MAP,),
        missing=("the date of the procedure",),
    )


def _unsigned(protocol: Protocol) -> Iterator[Advisory]:
    """One advisory for all of them: none of these limits is shown as satisfied."""
    unsigned = [limit for id in PLANNING_LIMITS if not (limit := protocol.limit(id)).stands]
    if unsigned:
        yield advise(
            rule="limits-not-signed-off",
            urgency=Urgency.CAUTION,
            text=(
                f"{len(unsigned)} local limits behind this plan are from memory and not signed "
                "off; nothing here is shown as satisfying them."
            ),
            basis=unsigned,
            inputs={limit.id: f"{limit.value:g} {limit.unit}" for limit in unsigned},
            missing=("the site's sign-off of its planning limits",),
        )
