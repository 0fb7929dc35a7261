"""Contrast on a completion run where the map has no vessel: the channel that refills the vein.

Recurrence comes from veins that nobody saw (practitioner's review, truth and safety 4), so
whatever is long and narrow and stands above both of its sides is told, with where it runs.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from coilwright.units import fr_to_mm
from coilwright.veins import Affine, NewVein, Stretch, VeinMap, Vessel, VesselKind
from coilwright.veins.vessel_match import nearest_arc
from coilwright.venogram.blur import unknown_blur
from coilwright.venogram.centreline import Centreline, draw_centreline, wound_line
from coilwright.venogram.false_strands import Filling, without_false
from coilwright.venogram.opacification import opacify
from coilwright.venogram.pixel_doubt import PixelDoubt
from coilwright.venogram.ridges import Ridges, find_ridges
from coilwright.venogram.samples import Samples, Surroundings, sample_centreline
from coilwright.venogram.subtraction import SubtractedRun
from coilwright.venogram.tree import Strand
from coilwright.venogram.vessel_opacity import Laid
from coilwright.venogram.vessels_found import skeleton_of, strands_of

Float = npt.NDArray[np.float32]
Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

# Shorter lines, and lines nearer to the wall of a vessel of the map, are told by that vessel.
SHORTEST_MM = 10.0
BEYOND_WALL_MM = 1.5
# Share of its points that must stand above both sides, by this share of its own height.
LEAST_ABOVE, ABOVE_SHARE = 0.8, 0.3
# Of the strongest contrast: less is what motion leaves of bone.
FAINTEST = 0.08
USUAL_FR = 5.0
# A catheter's lumen is about 0.6 of its width; blur and fit let it look wider.
LUMEN_SHARE = 1.1
# A line that lies on the catheter for this share of its way is in part its lumen.
PARTLY = 0.4
# How far either side of a line an edge is looked for.
EDGE_REACHES_PX = (3.0, 5.0, 8.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class CompletionPicture:
    """The completion run's contrast, how it lies on the map, and the map's vessels laid on it."""

    picture: Float
    subtracted: SubtractedRun
    affine: Affine
    laid: Laid
    densitometric: bool
    doubt: PixelDoubt


def new_veins(vein_map: VeinMap, shown: CompletionPicture) -> tuple[NewVein, ...]:
    """Lines of contrast off the map: those beside the trunk first, doubtful ones last.

    What lies on the catheter is its own filled lumen and left out. Contrast in the renal vein,
    the ureter or the cava is told too: a person sees which it is.
    """
    mm = vein_map.calibration.mm_per_pixel * shown.affine[0][0]
    lit = np.where(shown.subtracted.field, shown.picture, np.float32(0.0))
    ridges = find_ridges(lit)
    away_mm = _beyond_walls_px(shown) * mm
    skeleton = skeleton_of(lit, ridges, shown.subtracted.field) & (away_mm > BEYOND_WALL_MM)
    outer_px = fr_to_mm(vein_map.calibration.catheter_fr or USUAL_FR) / mm
    found = []
    for strand in _filling(_strands(skeleton, ridges, SHORTEST_MM / mm), vein_map, shown, ridges):
        wound = strand.kind is VesselKind.TANGLE
        line = (wound_line if wound else draw_centreline)(lit, strand, ridges.scale_px)
        if line.course.length_px * mm < SHORTEST_MM:
            continue
        if not wound and not _stands_out(lit, line):
            continue
        if not _is_lumen(shown.subtracted.mask, line, outer_px):
            doubt = _doubt(shown, line, lit, outer_px)
            found.append(_told(vein_map, shown, line, mm, doubt))
    trunk_id = None if vein_map.trunk is None else vein_map.trunk.id
    found.sort(key=lambda v: (v.doubt is not None, v.beside.vessel != trunk_id, v.beside.from_mm))
    return tuple(_named(vein, number) for number, vein in enumerate(found, start=1))


def _walls(shown: CompletionPicture) -> Mask:
    """Where the map's vessels lie on the completion run."""
    drawn = np.zeros(shown.picture.shape, np.uint8)
    for vessel_id, points in shown.laid.points.items():
        for (x, y), radius in zip(points, shown.laid.radii[vessel_id], strict=True):
            centre = (round(float(x)), round(float(y)))
            cv2.circle(drawn, centre, max(1, round(float(radius))), 1, -1)
    return drawn > 0


def _beyond_walls_px(shown: CompletionPicture) -> Float:
    free = (~_walls(shown)).astype(np.uint8)
    return np.asarray(cv2.distanceTransform(free, cv2.DIST_L2, 5), dtype=np.float32)


def _strands(skeleton: Mask, ridges: Ridges, shortest_px: float) -> list[Strand]:
    """Every strand of every piece of a skeleton, whether or not it hangs on anything."""
    count, pieces = cv2.connectedComponents(skeleton.astype(np.uint8), connectivity=8)
    strands: list[Strand] = []
    for number in range(1, count):
        piece = pieces == number
        # A diagonal line has a pixel for every 1.4 of its length.
        if piece.sum() >= shortest_px / np.sqrt(2.0):
            strands += strands_of(piece, ridges)
    return strands


def _filling(
    strands: Sequence[Strand], vein_map: VeinMap, shown: CompletionPicture, ridges: Ridges
) -> list[Strand]:
    """Strands that fill as a vein does, not as gas and the edges of bone do."""
    trunk = vein_map.trunk
    if trunk is None:
        return list(strands)
    frames, masks = shown.subtracted.frames, shown.subtracted.mask_frames
    filling = Filling(frames=frames, mask_frames=masks, full_frames=opacify(frames, masks).frames)
    laid = Strand(kind=VesselKind.TRUNK, points_xy=shown.laid.points[trunk.id])
    # Each is judged by itself: a channel that refills the vein need not hang on the trunk.
    alone = [replace(strand, attachments=()) for strand in strands]
    return without_false([laid, *alone], filling, ridges.scale_px)[1:]


def _is_lumen(mask: Float, line: Centreline, outer_px: float) -> bool:
    """Whether the line is the catheter's filled lumen: narrower than it, and on it in the mask."""
    if 2.0 * float(np.median(line.radius_px)) > LUMEN_SHARE * outer_px:
        return False
    over = _over_both_sides(mask, line, np.full(len(line.radius_px), 0.8 * outer_px + 2.0))
    return bool((over > 0).mean() >= LEAST_ABOVE)


def _doubt(shown: CompletionPicture, line: Centreline, lit: Float, outer_px: float) -> str | None:
    """Why the line may be no vein, in words; None where nothing speaks against it.

    An edge in the mask that moved by n pixels leaves a line no higher than n times its steepness.
    """
    mask = shown.subtracted.mask
    over = _over_both_sides(mask, line, np.full(len(line.radius_px), 0.8 * outer_px + 2.0))
    narrow = 2.0 * float(np.median(line.radius_px)) <= LUMEN_SHARE * outer_px
    if narrow and (over > 0).mean() > PARTLY:
        return "a part of it lies on the catheter"
    height = float(np.median(_over_both_sides(lit, line, 1.6 * line.radius_px + 2.0)))
    if _steepness(mask, line) * shown.subtracted.motion_px > height:
        return "it lies along an edge of bone or gas, where motion leaves such lines"
    return None


def _steepness(mask: Float, line: Centreline) -> float:
    """How steep an edge runs along the line in the mask, in absorption a pixel."""
    ones = np.ones(len(line.radius_px))
    across = [
        (_at(mask, line, reach * ones) - _at(mask, line, -reach * ones)) / (2.0 * reach)
        for reach in EDGE_REACHES_PX
    ]
    return max(abs(float(step.mean())) for step in across)


def _stands_out(picture: Float, line: Centreline) -> bool:
    """Whether the line is brighter than both of its sides along most of its way."""
    over = _over_both_sides(picture, line, 1.6 * line.radius_px + 2.0)
    height = float(np.median(over))
    if height < FAINTEST * float(np.percentile(picture, 99.8)):
        return False
    return bool((over > ABOVE_SHARE * height).mean() >= LEAST_ABOVE)


def _over_both_sides(picture: Float, line: Centreline, beside_px: Array) -> Array:
    """How far each point stands above the brighter of its sides."""
    smooth = np.asarray(cv2.GaussianBlur(picture, (0, 0), 1.0), dtype=np.float32)
    left, middle, right = (_at(smooth, line, side * beside_px) for side in (-1.0, 0.0, 1.0))
    return np.asarray(middle - np.maximum(left, right))


def _at(picture: Float, line: Centreline, offset_px: Array) -> Array:
    points = line.course.points_xy + line.course.normals_xy * offset_px[:, None]
    x, y = (points[:, k].astype(np.float32)[:, None] for k in (0, 1))
    values = cv2.remap(picture, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(values[:, 0], dtype=np.float64)


def _told(
    vein_map: VeinMap, shown: CompletionPicture, line: Centreline, mm: float, doubt: str | None
) -> NewVein:
    near = Surroundings(others=_walls(shown).astype(np.float32), catheter=None)
    samples = sample_centreline(
        shown.picture, line, near, unknown_blur(), mm, densitometric=shown.densitometric
    )
    relative_sd = vein_map.calibration.relative_sd
    diameter_mm, sd_mm = _calibre(samples, shown.doubt, mm, relative_sd)
    ratio = shown.affine[0][0]
    shift = np.array([shown.affine[0][2], shown.affine[1][2]])
    points = ratio * samples.points_xy + shift
    beside, apart_mm = _beside(vein_map.vessels, points, vein_map.calibration.mm_per_pixel)
    length_mm = line.course.length_px * mm
    kind = "a tangle, " if line.strand.kind is VesselKind.TANGLE else ""
    text = (
        f"{kind}{length_mm:.0f} mm long (projected), {_width_words(diameter_mm, sd_mm)}, about "
        f"{apart_mm:.0f} mm beside {beside.vessel} from {beside.from_mm:.0f} to "
        f"{beside.to_mm:.0f} mm; {_warning(doubt)}"
    )
    return NewVein(
        id="",
        points_px=tuple((float(x), float(y)) for x, y in np.round(points, 2)),
        length_mm=round(length_mm, 2),
        diameter_mm=diameter_mm,
        diameter_sd_mm=sd_mm,
        beside=beside,
        apart_mm=round(apart_mm, 2),
        doubt=doubt,
        text=text,
    )


def _warning(doubt: str | None) -> str:
    if doubt is not None:
        return f"perhaps no vein: {doubt}; look"
    return (
        "a channel that refills the vein, unless a person sees that it is the renal vein, the "
        "catheter or a ureter"
    )


def _width_words(diameter_mm: float | None, sd_mm: float | None) -> str:
    if diameter_mm is None or sd_mm is None:
        return "calibre unknown"
    return f"{diameter_mm:.1f} ± {sd_mm:.1f} mm wide"


def _calibre(
    samples: Samples, doubt: PixelDoubt, mm: float, scale_relative_sd: float
) -> tuple[float | None, float | None]:
    """The median along the way, with the median of its standard deviations and the scale's."""
    known = np.isfinite(samples.diameter_px)
    if known.mean() < 0.3:
        return None, None
    diameter_mm = float(np.median(samples.diameter_px[known])) * mm
    fit_px = np.hypot(np.median(samples.diameter_sd_px[known]), doubt.width_sd_px)
    fit_mm = float(fit_px) * mm
    sd_mm = float(np.hypot(fit_mm, diameter_mm * scale_relative_sd))
    return round(diameter_mm, 2), round(sd_mm, 2)


def _beside(vessels: Sequence[Vessel], points_xy: Array, mm: float) -> tuple[Stretch, float]:
    """The part of the nearest vessel that lies beside the points, and how far off they are."""
    some = points_xy[:: max(1, len(points_xy) // 40)]
    best: tuple[float, Stretch] | None = None
    for vessel in vessels:
        places = [nearest_arc(vessel, (float(x), float(y)), mm) for x, y in some]
        apart_mm = float(np.median([place.off_mm for place in places]))
        arcs = [place.arc_mm for place in places]
        stretch = Stretch(vessel=vessel.id, from_mm=round(min(arcs), 2), to_mm=round(max(arcs), 2))
        if best is None or apart_mm < best[0]:
            best = apart_mm, stretch
    if best is None:
        raise ValueError("a map without vessels")
    return best[1], best[0]


def _named(vein: NewVein, number: int) -> NewVein:
    return replace(vein, id=f"new-{number}")
