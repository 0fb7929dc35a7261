"""From one picture of the contrast to strands: skeleton, tree, the catheter's lumen set apart."""

import cv2
import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from coilwright.veins import VesselKind
from coilwright.venogram.catheter import LUMEN_PART, CatheterCourse
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
CATHETER_COUNTS, LUMEN_COUNTS = 3.0, 0.3
BORDER_PX = 5
# A vein's radius is about this much of the scale at which its ridge answers strongest.
RADIUS_OF_SCALE = np.float32(1.25)


def skeleton_of(picture: Float, ridges: Ridges, field: Mask) -> Mask:
    """The bridged skeleton of everything that looks like a vessel.

    At the border of ``field`` (rows, columns) a ridge bends along it.
    """
    inner = cv2.erode(field.astype(np.uint8), np.ones((3, 3), np.uint8), iterations=BORDER_PX) > 0
    skeleton = vessel_skeleton(vessel_mask(ridges)) & inner
    return bridge_gaps(skeleton, _half_width(picture, ridges))


def _half_width(picture: Float, ridges: Ridges) -> Float:
    """About the radius of the vessel at each pixel: ridges wider than the scales need the picture.

    Half of the strongest opacity marks the wide ones; the distance to its edge is their radius.
    """
    smooth = cv2.GaussianBlur(picture, (0, 0), 2.0)
    dense = (smooth > 0.4 * float(np.percentile(smooth[::2, ::2], 99.8))).astype(np.uint8)
    inside = cv2.distanceTransform(dense, cv2.DIST_L2, 5)
    return np.asarray(np.maximum(1.2 * ridges.scale_px, inside), dtype=np.float32)


def strands_of(
    skeleton: Mask, ridges: Ridges, catheter: CatheterCourse | None = None
) -> list[Strand]:
    """The tree that holds the trunk, the trunk first; empty where there is none.

    The catheter lies in the trunk: what holds it counts for more when the trunk is chosen.
    """
    graph = skeleton_graph(skeleton)
    shortest = {}
    for node in graph.nodes:
        x, y = graph.nodes[node]["xy"]
        radius = float(ridges.scale_px[round(y), round(x)])
        shortest[node] = SPUR_RADII * radius + SPUR_PX
    strength = ridges.strength if catheter is None else _weighed(ridges, catheter)
    radius_px = RADIUS_OF_SCALE * ridges.scale_px
    return read_tree(prune(graph, shortest), strength, radius_px, SHORTEST_DUPLICATE_PX)


def _weighed(ridges: Ridges, catheter: CatheterCourse) -> Float:
    """Strength with the catheter's neighbourhood multiplied: more in a vein, less in its lumen.

    What is left of the lumen's line, narrower than the catheter, must not pass for the trunk.
    """
    near = np.zeros(ridges.strength.shape, np.uint8)
    points = np.rint(catheter.course.points_xy).astype(np.int32)
    width = max(3, round(4.0 * catheter.look_radius_px))
    cv2.polylines(near, [points[:, None, :]], isClosed=False, color=1, thickness=width)
    narrow = RADIUS_OF_SCALE * ridges.scale_px < LUMEN_PART * catheter.look_radius_px
    counts = np.where(narrow, np.float32(LUMEN_COUNTS), np.float32(CATHETER_COUNTS))
    return np.where(near > 0, counts * ridges.strength, ridges.strength)


def without_lumen(skeleton: Mask, picture: Float, catheter: CatheterCourse, ridges: Ridges) -> Mask:
    """The skeleton less the catheter's own filled lumen outside the vein.

    Where a line of contrast lies on the catheter and is narrower than it, it is the lumen; a vein
    that holds the catheter is wider.
    """
    along = catheter.course.points_xy
    strand = Strand(kind=VesselKind.SIDE_VEIN, points_xy=along)
    line = draw_centreline(picture, strand, ridges.scale_px)
    lumen = line.course.points_xy[catheter.lies_along(line.course, line.radius_px)]
    if not len(lumen):
        return skeleton
    rows, columns = np.nonzero(skeleton)
    distance, _ = cKDTree(lumen).query(np.column_stack([columns, rows]))
    on_lumen = distance <= catheter.look_radius_px + 1.0
    cleared = skeleton.copy()
    cleared[rows[on_lumen], columns[on_lumen]] = False
    return cleared
