"""Everything that the pages show of one case, put together once when the server starts."""

from dataclasses import dataclass

from coilwright.advice import Advisory
from coilwright.documents import CasePage, DoseRow, case_page
from coilwright.documents.page_advice import stands
from coilwright.veins import VeinMap
from coilwright.venogram import read_run
from coilwright.web.picture_overlay import Overlay, picture_overlay
from coilwright.web.run_frames import RunFrames, run_frames
from coilwright.web.straightened_drawing import VeinAxis, straightened_drawing, vein_axis
from coilwright.web.trunk_trace import TrunkTrace, trunk_trace
from coilwright.workflow.planned_case import PlannedCase

MEDIA_TYPES = {
    ".json": "application/json",
    ".pdf": "application/pdf",
    ".png": "image/png",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownRun:
    """The run with what is drawn over it; ``trace`` and ``axis`` are null without a main vein."""

    frames: RunFrames
    frame_words: tuple[str, ...]
    overlay: Overlay
    trace: TrunkTrace | None
    axis: VeinAxis | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownCase:
    """One case as the pages show it.

    ``dose_shares`` goes with ``page.doses``: how much of the ceiling is used, null where that is
    not judged. ``run`` is null where no run has arrived. ``files`` are the downloads by name.
    """

    page: CasePage
    dose_shares: tuple[float | None, ...]
    vein_svg: str
    run: ShownRun | None
    files: dict[str, bytes]


def shown_case(planned: PlannedCase, files: dict[str, bytes]) -> ShownCase:
    """Read the run again for its frames and word everything once; ``files`` are the downloads.

    Raises
    ------
    FileProblem
        The run's file has gone or cannot be read.
    """
    page = case_page(
        planned.case, planned.vein_map, planned.plan, planned.pull_list, planned.protocol
    )
    return ShownCase(
        page=page,
        dose_shares=tuple(_share(row, planned.plan.advisories) for row in page.doses),
        vein_svg=straightened_drawing(planned.vein_map, planned.plan),
        run=None if planned.vein_map is None else _shown_run(planned, planned.vein_map),
        files=files,
    )


def _shown_run(planned: PlannedCase, vein_map: VeinMap) -> ShownRun:
    """The first run: the one that the map was measured on."""
    measured = vein_map.runs[0]
    return ShownRun(
        frames=run_frames(read_run(planned.case.runs[0].file), measured.mask_frames),
        frame_words=_frame_words(measured.frames, measured.frame_times_s),
        overlay=picture_overlay(vein_map, planned.plan),
        trace=trunk_trace(vein_map),
        axis=vein_axis(vein_map),
    )


def _frame_words(frames: int, times_s: tuple[float, ...] | None) -> tuple[str, ...]:
    """Frames counted from 1, as viewers do, with their time where the header gives it."""
    counted = [f"frame {index + 1} of {frames}" for index in range(frames)]
    if times_s is None:
        return tuple(counted)
    return tuple(f"{words}, {at_s:.1f} s" for words, at_s in zip(counted, times_s, strict=True))


def _share(row: DoseRow, advisories: tuple[Advisory, ...]) -> float | None:
    """Used over allowed, of the advisory that the row was worded from."""
    advisory = next(a for a in advisories if a.rule == row.rule)
    if advisory.value is None or not advisory.limit or not stands(advisory):
        return None
    return advisory.value / advisory.limit
