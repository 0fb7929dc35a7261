"""The whole measurement of one run: pixels in, vein map out."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from coilwright.errors import FileProblem, Problem
from coilwright.veins import Calibration, Notice, Side, VeinMap
from coilwright.venogram.absorption import Absorption, absorption
from coilwright.venogram.blur import Blur, unknown_blur
from coilwright.venogram.catheter import CatheterCourse, measure_width
from coilwright.venogram.catheter_search import catheter_set_apart, lumen
from coilwright.venogram.catheter_width import CatheterWidth
from coilwright.venogram.centreline import Centreline
from coilwright.venogram.clean_profiles import blur_of
from coilwright.venogram.contrast_alone import contrast_alone
from coilwright.venogram.crossings import without_crossings
from coilwright.venogram.false_strands import Filling, without_false
from coilwright.venogram.opacification import opacify
from coilwright.venogram.pixel_doubt import NO_DOUBT, PixelDoubt, doubted, with_doubt
from coilwright.venogram.ridges import find_ridges
from coilwright.venogram.run_demands import (
    require_contrast,
    require_frames,
    require_some_scale,
    require_vessel,
)
from coilwright.venogram.run_file import PixelRelationship, RunFile
from coilwright.venogram.scale import (
    ScaleChoice,
    catheter_scale,
    header_instead,
    header_scale,
    operator_scale,
)
from coilwright.venogram.seen_run import Seen, lit_part, plain_of, with_clear_mask
from coilwright.venogram.subtraction import SubtractedRun, subtract
from coilwright.venogram.traced_motion import traced_poses
from coilwright.venogram.tree import Strand
from coilwright.venogram.tree_lines import lines_of
from coilwright.venogram.vessels_found import RADIUS_OF_SCALE, skeleton_of, strands_of
from coilwright.venogram.whole_map import Measured, assemble

Float = npt.NDArray[np.float32]

MOST_TRACES = 1
# What motion that is not quite found does to the catheter's width (our own estimate, from rendered
# runs: docs/accuracy.md).
MOVED_RELATIVE_SD = 0.012

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
    doubt: PixelDoubt = NO_DOUBT


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
    require_some_scale(run, scale)
    require_frames(run, mask_frames)
    absorbed = absorption(run)
    subtracted = contrast_alone(
        absorbed.frames,
        mask_frames,
        already_subtracted=run.already_subtracted,
        named=run.named_mask,
    )
    require_contrast(run, subtracted, densitometric=absorbed.densitometric)
    seen, catheter, strands = _seen(run, scale, subtracted)
    lines, leaves = lines_of(seen, strands, catheter)
    blur = blur_of(seen.shown.picture, lines, catheter) or unknown_blur()
    # Bone and gas that no mask took away are not the vein's own even ground.
    densitometric = absorbed.densitometric and _background_gone(run, subtracted)
    width = _width_in_trunk(seen, catheter, lines[0], blur)
    calibration = _calibration(run, scale, width, densitometric=densitometric)
    measured = Measured(
        run=run,
        subtracted=seen.subtracted,
        shown=seen.shown,
        densitometric=densitometric,
        lines=lines,
        leaves_frame=leaves,
        blur=blur,
        catheter=catheter,
        calibration=doubted(calibration, run.doubt),
        side=side,
        notices=_notices(run, subtracted, absorbed),
    )
    return MeasuredRunFile(
        vein_map=with_doubt(assemble(measured), run.doubt),
        opacification=seen.shown.picture,
        mask=seen.subtracted.mask,
        densitometric=densitometric,
        blur=blur,
        doubt=run.doubt,
    )


def _seen(
    run: RunFile, scale: ScaleChoice, subtracted: SubtractedRun, *, traces: int = MOST_TRACES
) -> tuple[Seen, CatheterCourse | None, list[Strand]]:
    """The run with its catheter set apart, and the strands that fill as veins do.

    Where the catheter shows that the motion was not quite found, the run is subtracted once more,
    ``traces`` times at the most.
    """
    shown = opacify(subtracted.frames, subtracted.mask_frames)
    ridges = find_ridges(lit_part(shown.picture, subtracted))
    skeleton = skeleton_of(shown.picture, ridges, subtracted.field)
    strands = strands_of(skeleton, ridges)
    require_vessel(run, strands, shown)
    seen = Seen(run=run, scale=scale, subtracted=subtracted, shown=shown, ridges=ridges)
    catheter, strands = catheter_set_apart(seen, skeleton, strands)
    if catheter is not None:
        poses = traced_poses(subtracted, catheter) if traces else None
        if poses is not None:
            plain = plain_of(seen, strands, catheter)
            again = subtract(absorption(run).frames, subtracted.mask_frames, poses, plain)
            return _seen(run, scale, replace(again, notices=subtracted.notices), traces=traces - 1)
        seen = with_clear_mask(seen, catheter)
    filling = Filling(
        frames=seen.subtracted.frames,
        mask_frames=seen.subtracted.mask_frames,
        full_frames=seen.shown.frames,
    )
    strands = without_crossings(strands, filling, RADIUS_OF_SCALE * ridges.scale_px)
    strands = without_false(strands, filling, ridges.scale_px, loose_like_trunk=True)
    require_vessel(run, strands, seen.shown)
    return seen, catheter, strands


def _width_in_trunk(
    seen: Seen, catheter: CatheterCourse | None, trunk: Centreline, blur: Blur
) -> CatheterWidth | None:
    """The catheter's width; None for a line that does not end in or at the trunk.

    Such a line may be anything: it must not set the scale.
    """
    if catheter is None or not catheter.ends_near(trunk.course.points_xy, seen.ridges.scale_px):
        return None
    width = measure_width(
        seen.subtracted.mask,
        seen.shown.picture,
        catheter,
        trunk.course,
        trunk.radius_px,
        blur,
        lumen(seen.scale),
    )
    if width is None or seen.subtracted.poses is None:
        return width
    return replace(width, relative_sd=float(np.hypot(width.relative_sd, MOVED_RELATIVE_SD)))


def _background_gone(run: RunFile, subtracted: SubtractedRun) -> bool:
    return bool(subtracted.mask_frames) or run.already_subtracted


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
        return catheter_scale(
            width,
            size_fr,
            run.geometry,
            densitometric=densitometric,
            lumen_mm=scale.catheter_lumen_mm,
        )
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
    if len(run.frames) == 1:
        notices.append(SINGLE_FRAME)
    return tuple(notices)
