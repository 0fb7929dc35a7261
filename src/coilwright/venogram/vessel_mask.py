"""Which pixels hold contrast in a vessel, and the skeleton that runs through them."""

import cv2
import numpy as np
import numpy.typing as npt
from skimage.morphology import skeletonize

from coilwright.venogram.ridges import Ridges

Float = npt.NDArray[np.float32]
Mask = npt.NDArray[np.bool_]

# In standard deviations of chance: below LOW nothing is followed, a vessel must reach HIGH.
LOW_OVER_NOISE = 4.5
HIGH_OVER_NOISE = 9.0
# Of the strongest ridge: a side vein of 1.2 mm, late to fill, beside a trunk of 7 mm answers with
# a twentieth.
LOW_OF_STRONGEST = 0.03
HIGH_OF_STRONGEST = 0.06
SMALLEST_PX = 60
CREST_OF_NEIGHBOUR = 0.45


def vessel_mask(ridges: Ridges) -> Mask:
    """Pixels of ridges that stand out from chance and from their own surroundings."""
    strongest = float(np.percentile(ridges.strength[::2, ::2], 99.8))
    low = (ridges.over_noise > LOW_OVER_NOISE) & (ridges.strength > LOW_OF_STRONGEST * strongest)
    high = (ridges.over_noise > HIGH_OVER_NOISE) & (ridges.strength > HIGH_OF_STRONGEST * strongest)
    strength = np.where(low, ridges.strength, 0.0).astype(np.float32)
    crest = strength > CREST_OF_NEIGHBOUR * _strongest_near(strength, ridges.scale_px)
    return _large_with_a_summit(low & crest, high & low & crest)


def _large_with_a_summit(marked: Mask, summit: Mask) -> Mask:
    """The connected parts of what is marked that hold a summit and are not too small."""
    count, part, stats, _ = cv2.connectedComponentsWithStats(
        marked.astype(np.uint8), connectivity=4
    )
    kept = np.bincount(part[summit], minlength=count) > 0
    kept &= stats[:, cv2.CC_STAT_AREA] > SMALLEST_PX
    kept[0] = False
    return np.asarray(kept[part], dtype=np.bool_)


def _strongest_near(strength: Float, scale_px: Float) -> Float:
    """The strongest ridge within its own width of each pixel: a wall is no vein beside it."""
    strongest = strength
    for scale in np.unique(scale_px):
        size = 2 * round(1.5 * float(scale) + 1) + 1
        disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
        of_scale = np.where(scale_px == scale, strength, np.float32(0.0))
        strongest = np.maximum(strongest, cv2.dilate(of_scale, disc))
    return strongest


def vessel_skeleton(mask: Mask) -> Mask:
    """One-pixel-wide middle of the mask, small holes closed first."""
    closed = cv2.morphologyEx(
        mask.astype(np.uint8), cv2.MORPH_CLOSE, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (3, 3))
    )
    return np.asarray(skeletonize(closed > 0), dtype=np.bool_)
