"""What a run must show to be measured: a scale, its frames, contrast, and a vessel."""

from coilwright.errors import FileProblem, Problem
from coilwright.venogram.opacification import Opacification
from coilwright.venogram.run_file import RunFile
from coilwright.venogram.scale import ScaleChoice, header_scale, operator_scale
from coilwright.venogram.subtraction import SubtractedRun
from coilwright.venogram.tree import Strand

SHORTEST_TRUNK_PX = 40.0
FAINTEST_CONTRAST_TO_NOISE = 3.0


def require_some_scale(run: RunFile, scale: ScaleChoice) -> None:
    """Refuse a run for which nothing gives a scale."""
    if operator_scale(scale) or scale.catheter_fr is not None or header_scale(run.geometry):
        return
    found = "no scale: the header holds no Imager Pixel Spacing with source distances"
    if run.geometry.imager_spacing_mm is not None:
        found = (
            "detector spacing alone is no scale at the vein; the source distances are missing, or "
            "give an impossible one"
        )
    mend = "give the catheter's French size, a ruler, or millimetres per pixel"
    raise FileProblem(run.file, Problem(field="ImagerPixelSpacing", found=found, mend=mend))


def require_frames(run: RunFile, mask_frames: tuple[int, ...] | None) -> None:
    """Refuse mask frames that the run does not have."""
    outside = [frame for frame in mask_frames or () if not 0 <= frame < len(run.frames)]
    if outside:
        problem = Problem(
            field="mask frames",
            found=f"frame {outside[0]} does not exist",
            mend=f"frames of this run go from 0 to {len(run.frames) - 1}",
        )
        raise FileProblem(run.file, problem)


def require_contrast(run: RunFile, subtracted: SubtractedRun, *, densitometric: bool) -> None:
    """Refuse a run in which nothing arrives: bone alone looks like vessels too.

    Pictures processed for display are let through with their notice, since such runs are often
    stored with contrast in every frame.
    """
    if densitometric and subtracted.nothing_arrives:
        problem = Problem(
            field="PixelData",
            found="no opacified vessel: nothing changes from the first frame to the last",
            mend="give the run in which contrast arrives, with a frame before it",
        )
        raise FileProblem(run.file, problem)


def require_vessel(run: RunFile, strands: list[Strand], shown: Opacification) -> None:
    """Refuse a run in which no vessel stands out."""
    long_enough = bool(strands) and strands[0].length_px >= SHORTEST_TRUNK_PX
    if long_enough and shown.contrast_to_noise >= FAINTEST_CONTRAST_TO_NOISE:
        return
    problem = Problem(
        field="PixelData",
        found="no opacified vessel stands out from the noise",
        mend="give a run with a frame before contrast or after it, name its mask frames, or give "
        "the run as subtracted",
    )
    raise FileProblem(run.file, problem)
