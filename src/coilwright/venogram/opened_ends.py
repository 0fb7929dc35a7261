"""Centrelines carried straight on to the axis of the vessel that they open into."""

from dataclasses import replace

import numpy as np

from coilwright.veins import OwnEnd, VesselKind
from coilwright.venogram.centreline import Centreline
from coilwright.venogram.course import smooth_course
from coilwright.venogram.meeting import Wall, carried_on, mouth
from coilwright.venogram.tree import Attachment

SCATTER_PX = 0.3
FEWEST_POINTS = 8
WIDEST_PART = 1.3


def opened_into(line: Centreline, drawn: list[Centreline]) -> Centreline:
    """A centreline with its attached ends on the axes of its parents, drawn before it."""
    attachments = []
    for attachment in line.strand.attachments:
        parent = drawn[attachment.parent]
        if VesselKind.TANGLE in (parent.strand.kind, line.strand.kind):
            attachments.append(attachment)
            continue
        line, met = _carried(line, attachment, parent)
        attachments.append(met)
    return replace(line, strand=replace(line.strand, attachments=tuple(attachments)))


def _carried(
    line: Centreline, attachment: Attachment, parent: Centreline
) -> tuple[Centreline, Attachment]:
    wall = wall_of_line(parent)
    at_end = attachment.own_end is OwnEnd.END
    points = line.course.points_xy[::-1] if at_end else line.course.points_xy
    radius = line.radius_px[::-1] if at_end else line.radius_px
    seen = mouth(points, float(np.median(radius)), wall)
    if len(seen.points_xy) < FEWEST_POINTS:
        return line, attachment
    onward = carried_on(seen, wall)
    points = np.concatenate([onward, seen.points_xy])
    radius = np.concatenate([np.full(len(onward), radius[seen.first]), radius[seen.first :]])
    x, y = onward[0]
    if at_end:
        points, radius = points[::-1], radius[::-1]
    course = smooth_course(points, SCATTER_PX)
    where = course.arc_px / max(course.length_px, 1e-9) * (len(radius) - 1)
    radius = np.interp(where, np.arange(len(radius)), radius)
    met = replace(attachment, at_xy=(float(x), float(y)))
    return replace(line, course=course, radius_px=radius), met


def wall_of_line(parent: Centreline) -> Wall:
    """A vessel's wall, without the swellings where two run into one."""
    widest = WIDEST_PART * float(np.median(parent.radius_px))
    return Wall(axis_xy=parent.course.points_xy, radius_px=np.minimum(parent.radius_px, widest))
