"""The catheter looked for in a run: along which vein it leads, and what speaks for it."""

import numpy as np
import numpy.typing as npt

from coilwright.units import fr_to_mm
from coilwright.venogram.blur import VEIL_EXPECTED, certain_blur
from coilwright.venogram.catheter import CatheterCourse, find_catheter, measure_width
from coilwright.venogram.catheter_width import ExpectedLumen, expected_lumen
from coilwright.venogram.centreline import Centreline, draw_centreline
from coilwright.venogram.front import arrival_s, opacity_over_time
from coilwright.venogram.scale import ScaleChoice, header_scale, operator_scale
from coilwright.venogram.seen_run import Seen
from coilwright.venogram.tree import Strand
from coilwright.venogram.vessels_found import strands_of, without_lumen

# Looked for where neither French size nor header tells the width: radii in pixels.
LOOK_RADII_PX = (2.5, 3.5, 5.0, 7.0)
USUAL_FR = 5.0
# How many strands are tried as the vein that the catheter leads into.
MOST_LEADS = 4
# It has a width, ends in or at the trunk, and its line is gone beyond.
WHOLE_EVIDENCE = 3
# A width this near to what was looked for needs no second look.
LIKE_EXPECTED = 0.25
# Good enough to look for the catheter with, before the vein has shown its own.
FIRST_BLUR = certain_blur(1.0, VEIL_EXPECTED)


def catheter_set_apart(
    seen: Seen, skeleton: npt.NDArray[np.bool_], strands: list[Strand]
) -> tuple[CatheterCourse | None, list[Strand]]:
    """The catheter, and the tree without its filled lumen.

    A side vein may cross the lumen or be taken for the trunk: then the catheter seems to end where
    it does not. It is looked for along other strands too, and again with its lumen gone, until it
    has a width, ends in or at the trunk, and its line is gone beyond.
    """
    best: tuple[CatheterCourse | None, list[Strand]] = (None, strands)
    most, wanted, tried = -1, strands[:MOST_LEADS], 0
    while wanted and tried < 2 * MOST_LEADS and most < WHOLE_EVIDENCE:
        tried += 1
        catheter, has_width = _catheter(seen, wanted.pop(0))
        if catheter is None:
            continue
        cleared = without_lumen(skeleton, seen.shown.picture, catheter, seen.ridges)
        tree = strands_of(cleared, seen.ridges, catheter)
        if not tree:
            continue
        at_trunk = catheter.ends_near(tree[0].points_xy, seen.ridges.scale_px)
        speaks_for = has_width + at_trunk + catheter.stops
        if speaks_for > most:
            best, most = (catheter, tree), speaks_for
            wanted = tree[:MOST_LEADS] + wanted
    return best


def _catheter(seen: Seen, trunk: Strand) -> tuple[CatheterCourse | None, bool]:
    """The catheter, looked for at the width that is expected, then at the one that was found.

    Also whether it had a width that a catheter has.
    """
    if not seen.subtracted.mask_frames:
        return None, False
    line = _first_filled_first(seen, trunk)
    best: tuple[CatheterCourse | None, bool] = (None, False)
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
                FIRST_BLUR,
                lumen(seen.scale),
            )
            best = found, width is not None
            if width is None or abs(width.radius_px / radius - 1.0) < LIKE_EXPECTED:
                break
            radius = width.radius_px
        if best[1]:
            break
    return best


def _first_filled_first(seen: Seen, trunk: Strand) -> Centreline:
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


def _look_radii(seen: Seen) -> tuple[float, ...]:
    header = header_scale(seen.run.geometry)
    given = operator_scale(seen.scale) or header
    if given is None:
        return LOOK_RADII_PX
    outer_mm = fr_to_mm(seen.scale.catheter_fr or USUAL_FR)
    return (outer_mm / 2.0 / given.mm_per_pixel,)


def lumen(scale: ScaleChoice) -> ExpectedLumen:
    """What lumen to expect in the catheter that the operator named."""
    return expected_lumen(scale.catheter_fr or USUAL_FR, scale.catheter_lumen_mm)
