"""The runs of the map in words: how they were injected, and what their millimetres rest on."""

from coilwright.documents.figures import with_plus_minus
from coilwright.documents.page import Line
from coilwright.planning import OcclusionPlan
from coilwright.veins import MeasuredRun, VeinMap, injection_words, reflux_view

NO_RUN = "no run has arrived"


def run_lines(vein_map: VeinMap | None) -> tuple[Line, ...]:
    """Each run with its conditions; what nobody said of it is named."""
    if vein_map is None:
        return (Line(label="Run", text=NO_RUN),)
    return tuple(
        Line(label=f"Run {place}", text=f"{injection_words(run.conditions)}; {_frames(run)}")
        for place, run in enumerate(vein_map.runs, start=1)
    )


def front_lines(vein_map: VeinMap | None) -> tuple[Line, ...]:
    """How fast each run's front ran, and whether the run can show reflux."""
    runs = () if vein_map is None else vein_map.runs
    return tuple(
        Line(label=f"Front, run {place}", text=front_words(run))
        for place, run in enumerate(runs, start=1)
    )


def front_words(run: MeasuredRun) -> str:
    """How fast the front ran, and whether that says anything of reflux."""
    view = reflux_view(run.conditions)
    judged = {True: "can show reflux", False: "shows no reflux", None: "reflux not judged"}
    said = f"{judged[view.can_show]} ({view.why})"
    front = run.front
    if front is None or front.down_mm_per_s is None or front.down_sd_mm_per_s is None:
        return f"speed of the front not known; {said}"
    speed = f"{front.down_mm_per_s:.0f} ± {front.down_sd_mm_per_s:.0f} mm/s"
    return f"front {speed} down the vein as projected; {said}"


def scale_words(plan: OcclusionPlan) -> str:
    """What the millimetres rest on."""
    summary = plan.vein_map_calibration
    return NO_RUN if summary is None else with_plus_minus(summary.text)


def notices(vein_map: VeinMap | None) -> tuple[str, ...]:
    """What the measurement itself warns of."""
    if vein_map is None:
        return ()
    warned = (*vein_map.calibration.warnings, *vein_map.quality.warnings)
    return tuple(with_plus_minus(notice.text) for notice in warned)


def _frames(run: MeasuredRun) -> str:
    times = run.frame_times_s
    lasted = f" over {times[-1]:.1f} s" if times and times[-1] is not None else ""
    return f"{run.frames} frames{lasted}, {run.columns} x {run.rows} pixels"
