"""The skeleton behind the vein: lumbar spine, lowest ribs, sacrum, pelvis.

Plausible shapes of our own, no person's anatomy. The midline is x = 0 here and the upper edge of
the sacrum y = 0; the scene's anatomy moves and scales them. Left of the patient is positive x.
"""

import numpy as np

from coilwright.phantom.geometry import Cone, Floats
from coilwright.phantom.outlines import add_bone, band, ellipse, smooth_outline

# Upper edge of the left superior pubic ramus, from the acetabulum to the pubic body.
SUPERIOR_RAMUS_EDGE_MM = np.array(
    [[86.0, 88.0], [74.0, 93.0], [60.0, 99.5], [46.0, 105.0], [32.0, 109.5], [18.0, 113.0]]
)
_RAMUS_LOWER_EDGE_MM = np.array(
    [[16.0, 131.0], [30.0, 125.0], [44.0, 119.5], [58.0, 115.0], [72.0, 113.0], [84.0, 112.0]]
)
_ILIAC_WING_MM = np.array(
    [
        [40.0, 4.0], [50.0, -14.0], [66.0, -31.0], [88.0, -43.0], [110.0, -42.0], [126.0, -28.0],
        [134.0, -8.0], [135.0, 12.0], [129.0, 30.0], [122.0, 44.0], [121.0, 56.0], [116.0, 72.0],
        [104.0, 86.0], [90.0, 88.0], [79.0, 77.0], [67.0, 60.0], [53.0, 41.0], [44.0, 24.0],
    ]
)  # fmt: skip
_ARCUATE_LINE_MM = np.array(
    [[44.0, 22.0], [52.0, 40.0], [64.0, 58.0], [76.0, 74.0], [88.0, 86.0], [96.0, 92.0]]
)
_SACRUM_MM = np.array(
    [
        [-27.0, -3.0], [0.0, -1.0], [27.0, -3.0], [50.0, 6.0], [47.0, 30.0], [35.0, 54.0],
        [20.0, 78.0], [8.0, 90.0], [-8.0, 90.0], [-20.0, 78.0], [-35.0, 54.0], [-47.0, 30.0],
        [-50.0, 6.0],
    ]
)  # fmt: skip
_PUBIC_BODY_MM = np.array(
    [[3.0, 113.0], [18.0, 112.0], [26.0, 121.0], [20.0, 142.0], [9.0, 158.0], [3.0, 148.0]]
)
_INFERIOR_RAMUS_MM = np.array([[14.0, 146.0], [26.0, 160.0], [42.0, 172.0], [58.0, 176.0]])
_HIP_SOCKET_MM = np.array(
    [[122.0, 84.0], [105.0, 79.0], [88.0, 86.0], [79.0, 100.0], [80.0, 116.0]]
)


def add_spine(depth: Floats, cone: Cone, place: Floats, pitch_mm: float, gain: float) -> None:
    """Add five lumbar vertebrae and the two above; ``place`` is the sacrum's upper edge."""
    for level in range(7):
        middle = place - np.array([0.0, (level + 0.55) * pitch_mm])
        width_mm = pitch_mm * (1.40 - 0.035 * level)
        _add_vertebra(depth, cone, middle, width_mm, pitch_mm, gain)


def _add_vertebra(
    depth: Floats, cone: Cone, middle: Floats, width_mm: float, pitch_mm: float, gain: float
) -> None:
    half, tall = width_mm / 2, 0.39 * pitch_mm
    body = np.array(
        [
            [-half + 1.5, -tall], [0.0, -tall + 1.2], [half - 1.5, -tall], [half, -tall + 2.5],
            [half - 1.8, -tall * 0.3], [half - 1.8, tall * 0.3], [half, tall - 2.5],
            [half - 1.5, tall], [0.0, tall - 1.2], [-half + 1.5, tall], [-half, tall - 2.5],
            [-half + 1.8, tall * 0.3], [-half + 1.8, -tall * 0.3], [-half, -tall + 2.5],
        ]
    )  # fmt: skip
    add_bone(depth, cone, smooth_outline(body) + middle, 0.46 * gain, 0.14 * gain, 1.2)
    spinous = ellipse((0.0, 0.42 * pitch_mm), (3.2, 8.5), 0.0)
    add_bone(depth, cone, spinous + middle, 0.16 * gain, 0.1 * gain)
    for side in (-1.0, 1.0):
        pedicle = ellipse((side * half * 0.62, -0.12 * pitch_mm), (4.0, 6.2), side * 8)
        add_bone(depth, cone, pedicle + middle, 0.04 * gain, 0.2 * gain)
        facet = ellipse((side * half * 0.5, 0.46 * pitch_mm), (5.0, 8.6), side * 14)
        add_bone(depth, cone, facet + middle, 0.13 * gain, 0.05 * gain, 1.6)
        _add_transverse_process(depth, cone, middle, side, half, gain)


def _add_transverse_process(
    depth: Floats, cone: Cone, middle: Floats, side: float, half: float, gain: float
) -> None:
    shape = np.array(
        [[half * 0.8, -5.5], [half + 8, -7.0], [half + 19, -9.0], [half + 22, -6.0],
         [half + 18, -3.0], [half + 7, 0.5], [half * 0.8, 3.0]]
    )  # fmt: skip
    outline = smooth_outline(shape) * np.array([side, 1.0])
    add_bone(depth, cone, outline + middle, 0.11 * gain, 0.05 * gain)


def add_ribs(depth: Floats, cone: Cone, place: Floats, pitch_mm: float, gain: float) -> None:
    """Add the eleventh and twelfth pairs of ribs."""
    for level, reach_mm in ((5, 82.0), (6, 125.0)):
        start = place - np.array([0.0, (level + 0.75) * pitch_mm])
        for side in (-1.0, 1.0):
            line = np.array(
                [
                    [side * 24.0, 0.0],
                    [side * reach_mm * 0.45, 7.0],
                    [side * reach_mm * 0.8, 26.0],
                    [side * reach_mm, 54.0],
                ]
            )
            add_bone(depth, cone, band(line, 9.0) + start, 0.12 * gain, 0.1 * gain)


def add_pelvis(depth: Floats, cone: Cone, place: Floats, scale: float, gain: float) -> None:
    """Add sacrum, iliac wings, hip sockets and pubic bones."""
    sacrum = scale * smooth_outline(_SACRUM_MM) + place
    add_bone(depth, cone, sacrum, 0.3 * gain, 0.07 * gain, 2.0)
    for level in range(4):
        for side in (-1.0, 1.0):
            hole = ellipse(
                (side * (23.0 - 4.0 * level), 16.0 + 17.0 * level), (5.0, 3.6), side * 20
            )
            add_bone(depth, cone, scale * hole + place, -0.14 * gain, 0.1 * gain)
    for side in (-1.0, 1.0):
        mirror = np.array([side, 1.0]) * scale
        for outline, body, cortex, cortex_mm in _half_pelvis():
            placed = outline * mirror + place
            add_bone(depth, cone, placed, body * gain, cortex * gain, cortex_mm)


def _half_pelvis() -> tuple[tuple[Floats, float, float, float], ...]:
    ramus = smooth_outline(np.vstack([SUPERIOR_RAMUS_EDGE_MM, _RAMUS_LOWER_EDGE_MM]))
    return (
        (smooth_outline(_ILIAC_WING_MM), 0.13, 0.2, 5.0),
        (band(_ARCUATE_LINE_MM, 12.0), 0.16, 0.06, 2.0),
        (ramus, 0.3, 0.2, 1.5),
        (smooth_outline(_PUBIC_BODY_MM), 0.3, 0.14, 1.5),
        (band(_INFERIOR_RAMUS_MM, 13.0), 0.22, 0.14, 1.5),
        (ellipse((104.0, 108.0), (23.0, 23.0), 0.0), 0.4, 0.08, 1.5),
        (band(_HIP_SOCKET_MM, 6.0), 0.2, 0.06, 1.5),
    )


def ramus_edge_mm(place: Floats, scale: float) -> Floats:
    """The left superior ramus edge (N, 2) in the isocentre's plane, lateral to medial.

    It follows the drawn outline, not only its corners.
    """
    outline = smooth_outline(np.vstack([SUPERIOR_RAMUS_EDGE_MM, _RAMUS_LOWER_EDGE_MM]))
    corners = SUPERIOR_RAMUS_EDGE_MM
    kept = (outline[:, 0] >= corners[-1, 0]) & (outline[:, 0] <= corners[0, 0])
    middle_mm = np.interp(outline[:, 0], corners[::-1, 0], corners[::-1, 1]) + 8.0
    upper = outline[kept & (outline[:, 1] < middle_mm)]
    return np.asarray(upper * scale + place)
