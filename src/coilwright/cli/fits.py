"""`coilwright fits`: devices of a kit in, what fits through what out."""

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from coilwright.cli.ending import clear_ending, write_whole
from coilwright.errors import FileProblem, Problem

if TYPE_CHECKING:  # only named here: the command line must answer at once
    from coilwright.kit import FailingPair, FitAnswer, PairFit

SHOWN = 8


def fits(
    kit: Annotated[Path, typer.Argument(metavar="KIT", help="The kit: TOML or CSV.")],
    devices: Annotated[
        list[str],
        typer.Argument(metavar="DEVICE DEVICE [...]", help="Two or more, by id or name."),
    ],
    json: Annotated[
        Path | None, typer.Option("--json", metavar="OUT.json", help="Write it as JSON too.")
    ] = None,
    overlay: Annotated[
        Path | None,
        typer.Option("--overlay", metavar="SITE.toml", help="The site's own limits."),
    ] = None,
    shelf: Annotated[
        Path | None,
        typer.Option("--shelf", metavar="RECORD", help="Count what this record's shelf holds."),
    ] = None,
    in_body_cm: Annotated[
        float | None,
        typer.Option("--in-body-cm", min=1, max=150, help="Skin to tip, for exchanges."),
    ] = None,
) -> None:
    """Tell what fits through what, which pair fails and by how much, and what would do."""
    # The kit and its rules take time to import; the command line must answer at once.
    from coilwright.kit import devices_named, fits_to_json  # noqa: PLC0415 - see above
    from coilwright.kit import fits as fit_devices  # noqa: PLC0415 - see above
    from coilwright.protocol import load_protocol  # noqa: PLC0415 - see above
    from coilwright.workflow.kit_on_shelf import kit_on_shelf  # noqa: PLC0415 - see above

    with clear_ending():
        if json is not None and json.resolve() in {f.resolve() for f in (kit, overlay, shelf) if f}:
            problem = Problem(
                field="--json", found="it is a file that is read here", mend="name another file"
            )
            raise FileProblem(json, problem)
        today = dt.date.today()
        catalogue, protocol = kit_on_shelf(kit, shelf, today), load_protocol(overlay)
        named = devices_named(devices, catalogue)
        answer = fit_devices(named, catalogue, protocol, on=today, in_body_cm=in_body_cm)
        if json is not None:
            write_whole({json: fits_to_json(answer).encode()})
    _say(answer)
    if json is not None:
        typer.echo(f"wrote {json}")


def _say(answer: "FitAnswer") -> None:
    """The verdict first, then each pair, what would do, and what was not compared."""
    sources: dict[str, int] = {}

    def line(word: str, pair: "PairFit") -> str:
        note = sources.setdefault(f"{pair.source} ({pair.status.value})", len(sources) + 1)
        return f"  {word:<14} {pair.text} [{note}]"

    typer.echo(f"{' > '.join(answer.devices)}: {_verdict(answer)}")
    for found in answer.failing:
        typer.echo(line("does not fit", found.pair))
        for mend in _mends(found):
            typer.echo(f"{'':17}{mend}")
    for pair in answer.pairs:
        if not pair.fails:
            typer.echo(line(_word(pair), pair))
    for unanswered in answer.not_checked:
        typer.echo(f"  {'not checked':<14} {unanswered}")
    for pair in answer.exchanges:
        typer.echo(line("exchange", pair))
    for source, note in sources.items():
        typer.echo(f"[{note}] {source}")
    typer.echo("Labels compared, nothing tried: not approved for clinical use.")


def _verdict(answer: "FitAnswer") -> str:
    words = answer.verdict.value.replace("-", " ")
    if not answer.limits_stand:
        words += ", partly by limits from memory that nobody here has signed off"
    return f"{words}; not everything was checked" if answer.not_checked else words


def _word(pair: "PairFit") -> str:
    """A limit from memory is never shown as satisfied."""
    if not pair.passes:
        return "cannot be told"
    return "passes" if pair.limit_stands else "not signed off"


def _mends(found: "FailingPair") -> list[str]:
    lines = []
    for mend in found.mends:
        how = (
            "added inside the catheter"
            if mend.in_place_of is None
            else f"in place of {mend.in_place_of}"
        )
        more = f" and {len(mend.devices) - SHOWN} more" if len(mend.devices) > SHOWN else ""
        if mend.devices:
            lines.append(f"would do {how}: {', '.join(mend.devices[:SHOWN])}{more}")
    return lines or ["no one device in this kit would do"]
