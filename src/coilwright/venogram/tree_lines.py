"""Strands drawn as lines: down the middle of each vein, to its true ends and mouths."""

from coilwright.veins import OwnEnd, VesselKind
from coilwright.venogram.catheter import CatheterCourse
from coilwright.venogram.centreline import (
    Centreline,
    draw_centreline,
    reach_true_ends,
    without_lumen_at_start,
    wound_line,
)
from coilwright.venogram.opened_ends import opened_into, wall_of_line
from coilwright.venogram.seen_run import Seen
from coilwright.venogram.tree import Strand


def lines_of(
    seen: Seen, strands: list[Strand], catheter: CatheterCourse | None
) -> tuple[list[Centreline], list[bool]]:
    """Centrelines carried to their true ends, and which of them leave the frame."""
    lines: list[Centreline] = []
    leaves = []
    for strand in strands:
        line = _drawn(seen, strand, lines[:1])
        if catheter is not None and strand.kind is VesselKind.TRUNK:
            line = without_lumen_at_start(line, catheter.lies_along(line.course, line.radius_px))
        free = {attachment.own_end for attachment in strand.attachments}
        line, out = reach_true_ends(
            seen.shown.picture,
            line,
            free_start=OwnEnd.START not in free,
            free_end=OwnEnd.END not in free and strand.kind is not VesselKind.TANGLE,
        )
        lines.append(opened_into(line, lines))
        leaves.append(out)
    return lines, leaves


def _drawn(seen: Seen, strand: Strand, trunk: list[Centreline]) -> Centreline:
    if strand.kind is VesselKind.TANGLE:
        return wound_line(seen.shown.picture, strand, seen.ridges.scale_px)
    wall = wall_of_line(trunk[0]) if trunk else None
    return draw_centreline(seen.shown.picture, strand, seen.ridges.scale_px, wall=wall)
