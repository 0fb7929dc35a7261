"""Gaps in a skeleton: a loose end that points at a vessel close by is joined to it.

Beside a wide vein the ridge of a narrow one drowns, so its skeleton stops short of the mouth.
"""

import networkx as nx
import numpy as np
import numpy.typing as npt
from scipy.ndimage import label
from skimage.draw import line

from coilwright.venogram.skeleton_graph import skeleton_graph

Mask = npt.NDArray[np.bool_]
Array = npt.NDArray[np.float64]

# How far past the other vessel's wall an end may reach, and within which angle.
REACH_PX, REACH_RADII = 16.0, 2.2
WIDEST_COSINE = 0.6
# A vein no wider is reached straight on only: two tips that end near each other are not one vein.
STRAIGHT_COSINE = 0.92
DIRECTION_PX = 12
OWN_WIDTH_PX = 60
# A vein is reached at an angle when it is so much wider.
WIDER = 1.2


def bridge_gaps(skeleton: Mask, radius_px: npt.NDArray[np.float32], rounds: int = 2) -> Mask:
    """The skeleton with loose ends joined to another component that they point at."""
    bridged = skeleton.copy()
    for _ in range(rounds):
        component, count = label(bridged, structure=np.ones((3, 3)))
        if count < 2:
            break
        rows, columns = np.nonzero(bridged)
        points = np.column_stack([columns, rows]).astype(np.float64)
        owner = component[rows, columns]
        reach = REACH_PX + REACH_RADII * radius_px[rows, columns].astype(np.float64)
        for end, direction, branch in _loose_ends(skeleton_graph(bridged)):
            row, column = round(end[1]), round(end[0])
            # At its end the wide vein's flank may answer, along it a vein that it lies over.
            along = float(np.median(radius_px[branch[:, 1], branch[:, 0]]))
            own = WIDER * min(along, float(radius_px[row, column]))
            wide = radius_px[rows, columns] > own
            elsewhere = owner != component[row, column]
            target = _target(end, direction, points, reach, elsewhere & wide, WIDEST_COSINE)
            if target is None:
                narrow = np.minimum(reach, REACH_PX)
                target = _target(end, direction, points, narrow, elsewhere, STRAIGHT_COSINE)
            if target is not None:
                r, c = line(*(round(v) for v in (end[1], end[0], target[1], target[0])))
                bridged[r, c] = True
    return bridged


def _loose_ends(graph: nx.MultiGraph) -> list[tuple[Array, Array, npt.NDArray[np.intp]]]:
    """Each free end, the direction in which its branch points outwards, and that branch's pixels.

    Of the branch, (N, 2) as (x, y), the part by the end.
    """
    ends = []
    for node in graph.nodes:
        if graph.degree(node) != 1:
            continue
        _, _, data = next(iter(graph.edges(node, data=True)))
        points = data["branch"].points_xy
        here = np.array(graph.nodes[node]["xy"])
        if np.hypot(*(points[0] - here)) > np.hypot(*(points[-1] - here)):
            points = points[::-1]
        inner = points[min(DIRECTION_PX, len(points) - 1)]
        outward = here - inner
        pixels = np.rint(points[:OWN_WIDTH_PX]).astype(np.intp)
        ends.append((here, outward / max(np.hypot(*outward), 1e-9), pixels))
    return ends


def _target(
    end: Array, direction: Array, points: Array, reach: Array, allowed: Mask, cosine: float
) -> Array | None:
    away = points - end
    distance = np.hypot(away[:, 0], away[:, 1])
    ahead = (away @ direction) > cosine * distance
    near = allowed & ahead & (distance <= reach)
    if not near.any():
        return None
    found: Array = points[np.flatnonzero(near)[np.argmin(distance[near])]]
    return found
