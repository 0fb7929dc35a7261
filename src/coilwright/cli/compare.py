"""`coilwright compare`: the map before and a completion run in, what is shut out."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from coilwright.cli.ending import clear_ending, write_whole

if TYPE_CHECKING:  # only named here: the command line must answer at once
    from coilwright.veins import Comparison


def compare(
    before: Annotated[Path, typer.Argument(metavar="BEFORE.json", help="The map measured before.")],
    completion: Annotated[
        Path, typer.Argument(metavar="COMPLETION.dcm", help="The run after closure.")
    ],
    json: Annotated[
        Path | None, typer.Option("--json", metavar="OUT.json", help="Where the answer goes.")
    ] = None,
    plan: Annotated[
        Path | None, typer.Option("--plan", metavar="PLAN.json", help="The plan with its zones.")
    ] = None,
    tip_site: Annotated[
        str | None,
        typer.Option("--tip-site", help="Where the completion run was injected, in words."),
    ] = None,
    valsalva: Annotated[
        bool | None,
        typer.Option("--valsalva/--no-valsalva", help="Whether it was injected with Valsalva."),
    ] = None,
    tilt_deg: Annotated[
        float | None,
        typer.Option("--tilt-deg", help="Table tilt, feet down positive, if the header has none."),
    ] = None,
) -> None:
    """Compare a completion run with the map before: what is shut, what still fills."""
    from coilwright.veins import Conditions, comparison_to_json  # noqa: PLC0415 - see above
    from coilwright.workflow.compare_runs import compare_runs  # noqa: PLC0415 - see above

    with clear_ending():
        conditions = Conditions(tip_site=tip_site, valsalva=valsalva, tilt_deg=tilt_deg)
        found = compare_runs(before, completion, conditions, plan)
        if json is not None:
            write_whole({json: comparison_to_json(found).encode()})
    _say(completion, found)


def _say(completion: Path, found: "Comparison") -> None:
    """Conditions first: what is shown hangs on them."""
    word = "comparable" if found.comparable else "not comparable"
    typer.echo(f"{completion.name}: {word} with the run before: {found.why}")
    for zone in found.zones:
        where = f"{zone.zone.vessel} {zone.zone.from_mm:.0f} to {zone.zone.to_mm:.0f} mm"
        typer.echo(f"  {zone.name} ({where}): {zone.text}")
        if zone.residual is not None:
            low, high = zone.residual.lowest.value, zone.residual.highest.value
            band = low if low == high else f"{low} to {high}"
            typer.echo(f"    opacity against before, as a band and no result: {band}")
        for part in zone.beyond:
            typer.echo(
                f"    beyond it opacifies: {part.vessel} {part.from_mm:.0f} to {part.to_mm:.0f} mm"
            )
    for notice in found.warnings:
        typer.echo(f"  warning ({notice.code}): {notice.text}")
    typer.echo(found.disclaimer)
