"""From one picture of the contrast to strands: skeleton, tree, the catheter's lumen set apart."""

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from coilwright.veins import VesselKind
from coilwright.venogram.catheter import CatheterCourse
from coilwright.venogram.centreline import draw_centreline
from coilwright.venogram.gaps import bridge_gaps
from coilwright.venogram.ridges import Ridges
from coilwright.venogram.skeleton_graph import prune, skeleton_graph
from coilwright.venogram.tree import Strand, read_tree
from coilwright.venogram.vessel_mask import vessel_mask, vessel_skeleton

Float = npt.NDArray[np.float32]
Mask = npt.NDArray[np.bool_]

# A closed ring shorter than this beside the trunk is a hole in the picture, not a duplicate.
SHORTEST_DUPLICATE_PX = 40.0
# A free end of a skeleton shorter than this many radii of the vein it leaves is its wall.
SPUR_RADII = 1.6
SPUR_PX = 6.0


def skeleton_of(ridges: Ridges) -> Mask:
    """The bridged skeleton of everything that looks like a vessel."""
    return bridge_gaps(vessel_skeleton(vessel_mask(ridges)), ridges.scale_px)


def strands_of(skeleton: Mask, ridges: Ridges) -> list[Strand]:
    """The tree that holds the trunk, the trunk first; empty where there is none."""
    graph = skeleton_graph(skeleton)
    shortest = {}
    for node in graph.nodes:
        x, y = graph.nodes[node]["xy"]
        radius = float(ridges.scale_px[round(y), round(x)])
        shortest[node] = SPUR_RADII * radius + SPUR_PX
    return read_tree(prune(graph, shortest), ridges.strength, SHORTEST_DUPLICATE_PX)


def without_lumen(skeleton: Mask, picture: Float, catheter: CatheterCourse, ridges: Ridges) -> Mask:
    """The skeleton less the catheter's own filled lumen outside the vein.

    Where a line of contrast lies on the catheter and is narrower than it, it is the lumen; a vein
    that holds the catheter is wider.
    """
    radius = catheter.look_radius_px
    along = catheter.course.points_xy
    strand = Strand(kind=VesselKind.SIDE_VEIN, points_xy=along)
    line = draw_centreline(picture, strand, ridges.scale_px)
    where = np.linspace(0, len(line.radius_px) - 1, len(along))
    contrast_radius = np.interp(where, np.arange(len(line.radius_px)), line.radius_px)
    rows, columns = np.nonzero(skeleton)
    distance, nearest = cKDTree(along).query(np.column_stack([columns, rows]))
    lumen = (distance <= radius + 1.0) & (contrast_radius[nearest] < 1.05 * radius)
    cleared = skeleton.copy()
    cleared[rows[lumen], columns[lumen]] = False
    return cleared
