"""A run as it is seen: contrast alone, one picture of it, and what looks like vessels there."""

from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from coilwright.venogram.catheter import CatheterCourse
from coilwright.venogram.lumen_filling import without_filled_lumen
from coilwright.venogram.opacification import Opacification, opacify
from coilwright.venogram.ridges import Ridges
from coilwright.venogram.run_file import RunFile
from coilwright.venogram.scale import ScaleChoice
from coilwright.venogram.subtraction import SubtractedRun
from coilwright.venogram.tree import Strand

Float = npt.NDArray[np.float32]

# Room about a vessel, in scales of its ridge and pixels, within which contrast may lie.
ROOM_RADII, ROOM_PX = 2.0, 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What has been made of a run's pixels, and how the operator scales it."""

    run: RunFile
    scale: ScaleChoice
    subtracted: SubtractedRun
    shown: Opacification
    ridges: Ridges


def with_clear_mask(seen: Seen, catheter: CatheterCourse) -> Seen:
    """What is seen, without the mask frames in which the catheter was already filled."""
    subtracted = without_filled_lumen(seen.subtracted, catheter)
    if subtracted is seen.subtracted:
        return seen
    shown = opacify(subtracted.frames, subtracted.mask_frames)
    return replace(seen, subtracted=subtracted, shown=shown)


def lit_part(picture: Float, subtracted: SubtractedRun) -> Float:
    """The picture without the collimated border, where the logarithm shows noise alone."""
    return np.where(subtracted.field, picture, np.float32(0.0))


def plain_of(seen: Seen, strands: list[Strand], catheter: CatheterCourse) -> Float:
    """1 where contrast never comes, 0 in and about the vessels and the catheter."""
    filled = np.zeros(seen.ridges.scale_px.shape, np.uint8)
    for strand in strands:
        for x, y in np.rint(strand.points_xy).astype(int):
            radius = round(ROOM_RADII * float(seen.ridges.scale_px[y, x]) + ROOM_PX)
            cv2.circle(filled, (int(x), int(y)), radius, color=1, thickness=-1)
    course = np.rint(catheter.course.points_xy).astype(np.int32)[:, None, :]
    width = 2 * round(ROOM_RADII * catheter.look_radius_px + ROOM_PX)
    cv2.polylines(filled, [course], isClosed=False, color=1, thickness=width)
    return np.asarray(1.0 - cv2.GaussianBlur(filled.astype(np.float32), (0, 0), 2.0))
