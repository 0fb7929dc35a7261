"""The whole measurement of one run: pixels in, vein map out."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from coilwright.errors import FileProblem, Problem
from coilwright.units import fr_to_mm
from coilwright.veins import Calibration, Notice, OwnEnd, Side, VeinMap, VesselKind
from coilwright.venogram.absorption import Absorption, absorption
from coilwright.venogram.blur import VEIL_EXPECTED, Blur, certain_blur, unknown_blur
from coilwright.venogram.catheter import CatheterCourse, find_catheter, measure_width
from coilwright.venogram.catheter_width import CatheterWidth, usual_lumen_ratio
from coilwright.venogram.centreline import (
    Centreline,
    draw_centreline,
    reach_true_ends,
    without_lumen_at_start,
)
from coilwright.venogram.clean_profiles import blur_of
from coilwright.venogram.contrast_alone import contrast_alone
from coilwright.venogram.false_strands import Filling, without_false
from coilwright.venogram.front import arrival_s, opacity_over_time
from coilwright.venogram.opacification import Opacification, opacify
from coilwright.venogram.ridges import Ridges, find_ridges
from coilwright.venogram.run_file import PixelRelationship, RunFile
from coilwright.venogram.scale import (
    ScaleChoice,
    catheter_scale,
    header_instead,
    header_scale,
    operator_scale,
)
from coilwright.venogram.subtraction import SubtractedRun
from coilwright.venogram.tree import Strand
from coilwright.venogram.vessels_found import skeleton_of, strands_of, without_lumen
from coilwright.venogram.whole_map import Measured, assemble

Float = npt.NDArray[np.float32]

# Looked for where neither French size nor header tells the width: radii in pixels.
LOOK_RADII_PX = (2.5, 3.5, 5.0, 7.0)
USUAL_FR = 5.0
SHORTEST_TRUNK_PX = 40.0
# How often the catheter is looked for again after a side vein was found to cross its lumen.
MOST_CROSSINGS = 3
FAINTEST_CONTRAST_TO_NOISE = 3.0
# Good enough to look for the catheter with, before the vein has shown its own.
FIRST_BLUR = certain_blur(1.0, VEIL_EXPECTED)
NOT_DENSITOMETRIC = Notice(
    code="display-processed",
    text=(
        "pixels are processed for display: calibre by edge width, with a wide uncertainty, "
        "and no densitometry"
    ),
)
RELATIONSHIP_UNSTATED = Notice(
    code="display-processed",
    text=(
        "the header does not say how pixels follow the beam, so they are taken as processed for "
        "display: calibre by edge width, with a wide uncertainty, and no densitometry"
    ),
)
EDGE_WIDTH_WITHOUT_MASK = Notice(
    code="edge-width",
    text="without a mask, calibre is by edge width, with a wide uncertainty, and no densitometry",
)
SINGLE_FRAME = Notice(
    code="single-frame", text="a single frame: nothing to subtract, and no front to follow"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredRunFile:
    """The map with the picture that it was drawn on.

    ``picture_starts_px`` is where the pictures' corner lies in the map's grid (x, y); ``blur`` is
    null where the calibre of a further vessel cannot be measured on this picture any more.
    """

    vein_map: VeinMap
    opacification: Float
    mask: Float
    densitometric: bool = True
    blur: Blur | None = None
    picture_starts_px: tuple[float, float] = (0.0, 0.0)


def measure_run(
    run: RunFile,
    scale: ScaleChoice,
    *,
    mask_frames: tuple[int, ...] | None = None,
    side: Side | None = None,
) -> MeasuredRunFile:
    """Measure the veins of one run.

    Raises
    ------
    FileProblem
        No opacified vessel, or nothing from which a scale could be taken.
    """
    absorbed = absorption(run)
    _require_some_scale(run, scale)
    _require_frames(run, mask_frames)
    subtracted = contrast_alone(
        absorbed.frames, mask_frames, already_subtracted=run.already_subtracted
    )
    _require_contrast(run, subtracted, densitometric=absorbed.densitometric)
    # Bone and gas that no mask took away are not the vein's own even ground.
    densitometric = absorbed.densitometric and _background_gone(run, subtracted)
    shown = opacify(subtracted.frames, subtracted.mask_frames)
    ridges = find_ridges(_lit_part(shown.picture, subtracted))
    skeleton = skeleton_of(shown.picture, ridges)
    strands = strands_of(skeleton, ridges)
    _require_vessel(run, strands, shown)
    seen = _Seen(run=run, scale=scale, subtracted=subtracted, shown=shown, ridges=ridges)
    catheter, width, strands = _catheter_set_apart(seen, skeleton, strands)
    filling = Filling(
        frames=subtracted.frames,
        mask_frames=subtracted.mask_frames,
        full_frames=shown.frames,
    )
    strands = without_false(strands, filling, ridges.scale_px)
    _require_vessel(run, strands, shown)
    lines, leaves = _lines(seen, strands, catheter)
    blur = blur_of(shown.picture, lines, catheter) or unknown_blur()
    if catheter is not None:
        trunk = lines[0]
        width = measure_width(
            subtracted.mask,
            shown.picture,
            catheter,
            trunk.course,
            trunk.radius_px,
            blur,
            usual_lumen_ratio(scale.catheter_fr or USUAL_FR),
        )
        # A line that does not end in or at the trunk may be anything: it must not set the scale.
        if not catheter.ends_near(trunk.course.points_xy, ridges.scale_px):
            width = None
    measured = Measured(
        run=run,
        subtracted=subtracted,
        shown=shown,
        densitometric=densitometric,
        lines=lines,
        leaves_frame=leaves,
        blur=blur,
        catheter=catheter,
        calibration=_calibration(run, scale, width, densitometric=densitometric),
        side=side,
        notices=_notices(run, subtracted, absorbed),
    )
    return MeasuredRunFile(
        vein_map=assemble(measured),
        opacification=shown.picture,
        mask=subtracted.mask,
        densitometric=densitometric,
        blur=blur,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """What has been made of the pixels before the catheter is looked for."""

    run: RunFile
    scale: ScaleChoice
    subtracted: SubtractedRun
    shown: Opacification
    ridges: Ridges


def _lit_part(picture: Float, subtracted: SubtractedRun) -> Float:
    """The picture without the collimated border, where the logarithm shows noise alone."""
    return np.where(subtracted.field, picture, np.float32(0.0))


def _background_gone(run: RunFile, subtracted: SubtractedRun) -> bool:
    return bool(subtracted.mask_frames) or run.already_subtracted


def _require_some_scale(run: RunFile, scale: ScaleChoice) -> None:
    if operator_scale(scale) or scale.catheter_fr is not None or header_scale(run.geometry):
        return
    found = "no scale: the header holds no Imager Pixel Spacing with source distances"
    if run.geometry.imager_spacing_mm is not None:
        found = (
            "detector spacing alone is no scale at the vein, and the source distances are missing"
        )
    mend = "give the catheter's French size, a ruler, or millimetres per pixel"
    raise FileProblem(run.file, Problem(field="ImagerPixelSpacing", found=found, mend=mend))


def _require_frames(run: RunFile, mask_frames: tuple[int, ...] | None) -> None:
    outside = [frame for frame in mask_frames or () if not 0 <= frame < len(run.stored)]
    if outside:
        problem = Problem(
            field="mask frames",
            found=f"frame {outside[0]} does not exist",
            mend=f"frames of this run go from 0 to {len(run.stored) - 1}",
        )
        raise FileProblem(run.file, problem)


def _require_contrast(run: RunFile, subtracted: SubtractedRun, *, densitometric: bool) -> None:
    """Refuse a run in which nothing arrives: bone alone looks like vessels too.

    Pictures processed for display are let through with their notice, since such runs are often
    stored with contrast in every frame.
    """
    if densitometric and subtracted.nothing_arrives:
        problem = Problem(
            field="PixelData",
            found="no opacified vessel: nothing changes from the first frame to the last",
            mend="give the run in which contrast arrives, with a frame before it",
        )
        raise FileProblem(run.file, problem)


def _require_vessel(run: RunFile, strands: list[Strand], shown: Opacification) -> None:
    long_enough = bool(strands) and strands[0].length_px >= SHORTEST_TRUNK_PX
    if long_enough and shown.contrast_to_noise >= FAINTEST_CONTRAST_TO_NOISE:
        return
    problem = Problem(
        field="PixelData",
        found="no opacified vessel stands out from the noise",
        mend="give a run with a frame before contrast or after it, name its mask frames, or give "
        "the run as subtracted",
    )
    raise FileProblem(run.file, problem)


def _lines(
    seen: _Seen, strands: list[Strand], catheter: CatheterCourse | None
) -> tuple[list[Centreline], list[bool]]:
    """Centrelines carried to their true ends, and which of them leave the frame."""
    lines, leaves = [], []
    for strand in strands:
        line = draw_centreline(seen.shown.picture, strand, seen.ridges.scale_px)
        if catheter is not None and strand.kind is VesselKind.TRUNK:
            line = without_lumen_at_start(line, catheter.lies_along(line.course, line.radius_px))
        free = {attachment.own_end for attachment in strand.attachments}
        line, out = reach_true_ends(
            seen.shown.picture,
            line,
            free_start=OwnEnd.START not in free,
            free_end=OwnEnd.END not in free,
        )
        lines.append(line)
        leaves.append(out)
    return lines, leaves


def _catheter_set_apart(
    seen: _Seen, skeleton: npt.NDArray[np.bool_], strands: list[Strand]
) -> tuple[CatheterCourse | None, CatheterWidth | None, list[Strand]]:
    """The catheter, and the tree without its filled lumen.

    A side vein may cross the lumen: then part of it was taken for the trunk, and the catheter ends
    at the crossing. With that part gone, the rest is looked for again.
    """
    picture = seen.shown.picture
    catheter, width = _catheter(seen, strands[0])
    for _ in range(MOST_CROSSINGS):
        if catheter is None:
            break
        skeleton = without_lumen(skeleton, picture, catheter, seen.ridges)
        strands = strands_of(skeleton, seen.ridges, catheter)
        if not strands or catheter.ends_near(strands[0].points_xy, seen.ridges.scale_px):
            break
        again = _catheter(seen, strands[0])
        if again[0] is None:
            break
        catheter, width = again
    return catheter, width, strands


def _catheter(seen: _Seen, trunk: Strand) -> tuple[CatheterCourse | None, CatheterWidth | None]:
    """The catheter, looked for at the width that is expected, then at the one that was found."""
    if not seen.subtracted.mask_frames:
        return None, None
    line = _first_filled_first(seen, trunk)
    blur = FIRST_BLUR
    best: tuple[CatheterCourse | None, CatheterWidth | None] = (None, None)
    for look_px in _look_radii(seen):
        radius = look_px
        for _ in range(2):
            found = find_catheter(seen.subtracted.mask, line.course, line.radius_px, radius)
            if found is None:
                break
            width = measure_width(
                seen.subtracted.mask,
                seen.shown.picture,
                found,
                line.course,
                line.radius_px,
                blur,
                usual_lumen_ratio(seen.scale.catheter_fr or USUAL_FR),
            )
            best = found, width
            if width is None or abs(width.radius_px / radius - 1.0) < 0.25:
                break
            radius = width.radius_px
        if best[1] is not None:
            break
    return best


def _first_filled_first(seen: _Seen, trunk: Strand) -> Centreline:
    """The trunk from the end at which contrast appears first: there the catheter comes in."""
    line = draw_centreline(seen.shown.picture, trunk, seen.ridges.scale_px)
    curves = opacity_over_time(seen.subtracted.frames, line.course, line.radius_px)
    arrival = arrival_s(curves, tuple(float(frame) for frame in range(len(curves))))
    part = max(1, round(0.4 * len(arrival)))
    known = np.where(np.isfinite(arrival), arrival, len(curves))
    if known[:part].mean() <= known[-part:].mean():
        return line
    return Centreline(
        strand=line.strand, course=line.course.turned(), radius_px=line.radius_px[::-1]
    )


def _look_radii(seen: _Seen) -> tuple[float, ...]:
    header = header_scale(seen.run.geometry)
    given = operator_scale(seen.scale) or header
    if given is None:
        return LOOK_RADII_PX
    outer_mm = fr_to_mm(seen.scale.catheter_fr or USUAL_FR)
    return (outer_mm / 2.0 / given.mm_per_pixel,)


def _calibration(
    run: RunFile, scale: ScaleChoice, width: CatheterWidth | None, *, densitometric: bool
) -> Calibration:
    by_operator = operator_scale(scale)
    if by_operator is not None:
        return by_operator
    header = header_scale(run.geometry)
    size_fr = scale.catheter_fr
    unsure = width is not None and header is not None and width.relative_sd > header.relative_sd
    if size_fr is not None and width is not None and not unsure:
        return catheter_scale(width, size_fr, run.geometry, densitometric=densitometric)
    if header is not None:
        return header if size_fr is None else header_instead(header, size_fr, found=unsure)
    found = "no line like the stated catheter leads into the vein, and the header has no scale"
    if run.already_subtracted:
        found = "the run was stored subtracted, without its catheter, and the header has no scale"
    problem = Problem(
        field="catheter",
        found=found,
        mend="give a ruler or millimetres per pixel",
    )
    raise FileProblem(run.file, problem)


def _notices(run: RunFile, subtracted: SubtractedRun, absorbed: Absorption) -> tuple[Notice, ...]:
    notices = [*run.notices, *subtracted.notices, *absorbed.notices]
    if run.relationship is PixelRelationship.UNSTATED:
        notices.append(RELATIONSHIP_UNSTATED)
    elif not absorbed.densitometric and not absorbed.notices:
        notices.append(NOT_DENSITOMETRIC)
    elif not _background_gone(run, subtracted):
        notices.append(EDGE_WIDTH_WITHOUT_MASK)
    if len(run.stored) == 1:
        notices.append(SINGLE_FRAME)
    return tuple(notices)
