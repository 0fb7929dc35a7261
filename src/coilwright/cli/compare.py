"""`coilwright compare`: the map before and a completion run in, what is shut out."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from coilwright.cli.ending import clear_ending, write_whole
from coilwright.cli.injection import TiltDeg, TipSite, Valsalva, injection

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
    picture: Annotated[
        Path | None, typer.Option("--picture", metavar="OUT.png", help="Where its picture goes.")
    ] = None,
    plan: Annotated[
        Path | None, typer.Option("--plan", metavar="PLAN.json", help="The plan with its zones.")
    ] = None,
    tip_site: TipSite = None,
    valsalva: Valsalva = None,
    tilt_deg: TiltDeg = None,
) -> None:
    """Compare a completion run with the map before: what is shut, what still fills."""
    from coilwright.veins import comparison_to_json  # noqa: PLC0415 - see above
    from coilwright.workflow.compare_runs import compare_runs  # noqa: PLC0415 - see above

    with clear_ending():
        conditions = injection(tip_site=tip_site, valsalva=valsalva, tilt_deg=tilt_deg)
        compared = compare_runs(before, completion, conditions, plan)
        found, outputs = compared.comparison, {}
        if json is not None:
            outputs[json] = comparison_to_json(found).encode()
        if picture is not None and compared.picture is not None:
            outputs[picture] = compared.picture
        write_whole(outputs)
    _say(completion, found)
    if picture is not None and compared.picture is None:
        typer.echo("  no picture: the run could not be laid on the map")


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
    _say_new(found)
    for notice in found.warnings:
        typer.echo(f"  warning ({notice.code}): {notice.text}")
    typer.echo(found.disclaimer)


def _say_new(found: "Comparison") -> None:
    """The veins that were not on the map: what was looked for and not found is said too."""
    if found.new_veins is None:
        typer.echo("  veins not on the map before: could not be looked for")
    elif not found.new_veins:
        typer.echo("  veins not on the map before: looked for, none seen in this run")
    else:
        typer.echo("  veins not on the map before:")
        for vein in found.new_veins:
            typer.echo(f"    {vein.id}: {vein.text}")
