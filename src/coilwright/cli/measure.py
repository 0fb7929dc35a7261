"""`coilwright measure`: one run or several in, one vein map out."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from coilwright.cli.ending import clear_ending, write_whole
from coilwright.cli.injection import (
    Breath,
    ConditionsFile,
    RateMlPerS,
    TiltDeg,
    TipSite,
    Valsalva,
    VolumeMl,
    injection,
)
from coilwright.errors import InputError, Problem
from coilwright.units import fr_to_mm
from coilwright.veins import Side, VeinMap, injection_words, reflux_view, vein_map_to_json

if TYPE_CHECKING:  # only named here
    from coilwright.veins import Conditions


class OptionProblem(InputError):
    """An option of the command cannot be used as given."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        super().__init__(problem)

    def __str__(self) -> str:
        return f"{self.problem}."


def measure(
    runs: Annotated[
        list[Path],
        typer.Argument(metavar="RUN.dcm...", help="The X-ray run, or several of the same vein."),
    ],
    json: Annotated[Path, typer.Option("--json", metavar="MAP.json", help="Where the map goes.")],
    picture: Annotated[
        Path | None, typer.Option("--picture", metavar="MAP.png", help="Where its picture goes.")
    ] = None,
    catheter_fr: Annotated[
        float | None, typer.Option("--catheter-fr", help="French size of the catheter in the vein.")
    ] = None,
    catheter_lumen_mm: Annotated[
        float | None,
        typer.Option("--catheter-lumen-mm", help="Lumen on its label: makes the scale surer."),
    ] = None,
    mm_per_pixel: Annotated[
        float | None, typer.Option("--mm-per-pixel", help="The scale, where it is known.")
    ] = None,
    ruler_px: Annotated[
        str | None, typer.Option("--ruler-px", metavar="x0,y0,x1,y1", help="Ends of a ruler.")
    ] = None,
    ruler_mm: Annotated[
        float | None, typer.Option("--ruler-mm", help="Length of the ruler.")
    ] = None,
    mask_frames: Annotated[
        str | None, typer.Option("--mask-frames", metavar="0,1,2", help="Frames before contrast.")
    ] = None,
    side: Annotated[
        Side | None, typer.Option("--side", help="Side as stated; it is never inferred.")
    ] = None,
    edits: Annotated[
        Path | None,
        typer.Option("--edits", metavar="EDITS.toml", help="What a person changes on the map."),
    ] = None,
    tip_site: TipSite = None,
    valsalva: Valsalva = None,
    tilt_deg: TiltDeg = None,
    breath: Breath = None,
    volume_ml: VolumeMl = None,
    rate_ml_per_s: RateMlPerS = None,
    conditions: ConditionsFile = None,
) -> None:
    """Measure the veins of X-ray runs: course, calibre, joins, scale, catheter tip."""
    # The engine takes a second to import; the command line must answer at once.
    from coilwright.venogram import (  # noqa: PLC0415 - see above
        ScaleChoice,
        picture_of_map,
        scale_sentence,
    )
    from coilwright.workflow.measure_runs import measure_runs  # noqa: PLC0415 - see above

    with clear_ending():
        _one_scale(catheter_fr, mm_per_pixel, ruler_px, ruler_mm)
        _lumen_within(catheter_lumen_mm, catheter_fr)
        _scale_of_all(runs, mm_per_pixel, ruler_px)
        choice = ScaleChoice(
            catheter_fr=catheter_fr,
            catheter_lumen_mm=catheter_lumen_mm,
            mm_per_pixel=mm_per_pixel,
            ruler_px=_ruler(ruler_px),
            ruler_mm=ruler_mm,
        )
        frames = _whole_numbers("--mask-frames", mask_frames)
        stated = injection(
            tip_site=tip_site,
            valsalva=valsalva,
            tilt_deg=tilt_deg,
            breath=breath,
            volume_ml=volume_ml,
            rate_ml_per_s=rate_ml_per_s,
        )
        measured = measure_runs(
            runs,
            choice,
            mask_frames=frames,
            side=side,
            edits_file=edits,
            conditions=_of_each(runs, stated, conditions),
        )
        outputs = {json: vein_map_to_json(measured.vein_map).encode()}
        if picture is not None:
            outputs[picture] = picture_of_map(measured)
        write_whole(outputs)
    _say(runs, measured.vein_map, scale_sentence(measured.vein_map.calibration))


def _lumen_within(lumen_mm: float | None, catheter_fr: float | None) -> None:
    """Refuse a lumen without its catheter, or one that leaves no wall."""
    if lumen_mm is None:
        return
    if catheter_fr is None:
        found, mend = "the catheter's size is missing", "give --catheter-fr with it"
        raise _option("--catheter-lumen-mm", found, mend)
    _within("--catheter-lumen-mm", lumen_mm, 0.3, 0.9 * fr_to_mm(catheter_fr), "mm")


def _one_scale(
    catheter_fr: float | None,
    mm_per_pixel: float | None,
    ruler_px: str | None,
    ruler_mm: float | None,
) -> None:
    """Refuse what contradicts itself or cannot be a length."""
    given = {
        "--catheter-fr": catheter_fr is not None,
        "--mm-per-pixel": mm_per_pixel is not None,
        "--ruler-px with --ruler-mm": ruler_px is not None or ruler_mm is not None,
    }
    named = [name for name, is_given in given.items() if is_given]
    if len(named) > 1:
        raise _option(" and ".join(named), "two scales were given", "give only one of them")
    if (ruler_px is None) != (ruler_mm is None):
        raise _option("--ruler-px", "half of a ruler", "give --ruler-px and --ruler-mm together")
    # Catheters run from 1.5 F micro to 12 F guiding; pixels of X-ray runs from 0.05 to 1 mm.
    _within("--catheter-fr", catheter_fr, 1.5, 12.0, "F")
    _within("--mm-per-pixel", mm_per_pixel, 0.02, 2.0, "mm per pixel")
    _within("--ruler-mm", ruler_mm, 1.0, 1000.0, "mm")


def _scale_of_all(runs: list[Path], mm_per_pixel: float | None, ruler_px: str | None) -> None:
    """A ruler or a scale belongs to one run: two may have been taken at another magnification."""
    if len(runs) > 1 and (mm_per_pixel is not None or ruler_px is not None):
        name = "--mm-per-pixel" if mm_per_pixel is not None else "--ruler-px"
        mend = "give --catheter-fr or none, and set the scale of the map in an edits file"
        raise _option(name, "one scale for several runs", mend)


def _of_each(runs: list[Path], stated: "Conditions", file: Path | None) -> dict[int, "Conditions"]:
    """How each run was injected, by its place; options speak of a run that is alone."""
    from coilwright.veins import Conditions, read_conditions  # noqa: PLC0415 - see measure()

    by_options = stated != Conditions()
    if by_options and file is not None:
        mend = "state it in one of the two places"
        raise _option("--conditions", "options state how the run was injected as well", mend)
    if by_options and len(runs) > 1:
        mend = "state each run in a file and give it with --conditions"
        raise _option("--tip-site, --valsalva, ...", "one injection for several runs", mend)
    if file is not None:
        return read_conditions(file, runs)
    return {0: stated} if by_options else {}


def _within(name: str, value: float | None, low: float, high: float, unit: str) -> None:
    if value is not None and not low <= value <= high:
        raise _option(name, f"{value:g} {unit} is impossible", f"give {low:g} to {high:g} {unit}")


def _ruler(text: str | None) -> tuple[float, float, float, float] | None:
    if text is None:
        return None
    mend = "give four numbers x0,y0,x1,y1 in pixels"
    try:
        numbers = [float(part) for part in text.split(",")]
    except ValueError:
        raise _option("--ruler-px", f"'{text}' is not a list of numbers", mend) from None
    if len(numbers) != 4:
        raise _option("--ruler-px", f"{len(numbers)} numbers", mend)
    x0, y0, x1, y1 = numbers
    if (x1 - x0) ** 2 + (y1 - y0) ** 2 < 25.0:
        raise _option("--ruler-px", "the ends are less than 5 pixels apart", "mark a longer ruler")
    return x0, y0, x1, y1


def _whole_numbers(name: str, text: str | None) -> tuple[int, ...] | None:
    if text is None:
        return None
    try:
        return tuple(sorted({int(part) for part in text.split(",")}))
    except ValueError:
        raise _option(
            name, f"'{text}' is not a list of frame numbers", "give whole numbers from 0, as 0,1,2"
        ) from None


def _option(name: str, found: str, mend: str) -> OptionProblem:
    return OptionProblem(Problem(field=name, found=found, mend=mend))


def _say(runs: list[Path], vein_map: VeinMap, scale: str) -> None:
    """What was found, in a few lines; what a person changed, then warnings, last."""
    typer.echo(f"{', '.join(run.name for run in runs)}: {scale}")
    for number, run in enumerate(vein_map.runs, start=1):
        reflux = reflux_view(run.conditions)
        judged = {True: "can show reflux", False: "cannot show reflux", None: "reflux not judged"}
        said = f"{injection_words(run.conditions)}; {judged[reflux.can_show]} ({reflux.why})"
        typer.echo(f"  run {number}: {said}")
    for vessel in vein_map.vessels:
        known = [d for d in vessel.diameter_mm if d is not None]
        calibre = f"{min(known):.1f} to {max(known):.1f} mm wide" if known else "calibre unknown"
        typer.echo(f"  {vessel.id}: {vessel.length_mm:.0f} mm long (projected), {calibre}")
    if vein_map.catheter.tip_px is not None:
        where = vein_map.catheter.in_vessel or "no vessel of the map"
        typer.echo(f"  catheter tip: in {where}")
    for edit in vein_map.edits:
        typer.echo(f"  changed by {edit.by}: {edit.said} ({edit.why})")
    for notice in (*vein_map.calibration.warnings, *vein_map.quality.warnings):
        typer.echo(f"  warning ({notice.code}): {notice.text}")
