"""`coilwright pathways`: a vein network in, the least that must be closed out."""

import json as json_module
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from coilwright.cli.ending import clear_ending
from coilwright.errors import FileProblem, Problem

if TYPE_CHECKING:  # only named here: the command line must answer at once
    from coilwright.planning.least_closure import LeastClosure
    from coilwright.planning.map_network import MapNetwork

SHOWN = 10


def pathways(
    network: Annotated[
        Path,
        typer.Argument(
            metavar="NETWORK.json", help="The vein network, or a vein map with --marks."
        ),
    ],
    json: Annotated[bool, typer.Option("--json", help="Say it as JSON, and nothing else.")] = False,
    marks: Annotated[
        Path | None,
        typer.Option(
            "--marks",
            metavar="MARKS.toml",
            help="For a vein map: where it leads, what was added, the catheter.",
        ),
    ] = None,
) -> None:
    """Find the cheapest set of veins that shuts every pathway from inflow to outflow."""
    # The network library takes time to import; the command line must answer at once.
    from coilwright.planning.least_closure import least_closure  # noqa: PLC0415 - see above
    from coilwright.planning.least_closure_json import (  # noqa: PLC0415 - see above
        least_closure_to_json,
    )

    with clear_ending():
        made = _network(network, marks)
        answer = least_closure(made.network, made.assumptions)
    if json:
        typer.echo(least_closure_to_json(answer), nl=False)
    else:
        _say(network.name, answer)


def _network(file: Path, marks: Path | None) -> "MapNetwork":
    """The network in a file, or that of the map in it with the marks."""
    from coilwright.planning.map_network import MapNetwork  # noqa: PLC0415 - see pathways()
    from coilwright.veins.vein_map_json import FORMAT as MAP_FORMAT  # noqa: PLC0415 - as above
    from coilwright.veins.vein_network_json import (  # noqa: PLC0415 - see pathways()
        vein_network_from_json,
    )

    text = _text(file)
    if _format(text) == MAP_FORMAT:
        return _network_of_map(text, file, marks)
    if marks is not None:
        mend = "leave it out, or give a vein map in place of the network"
        raise FileProblem(marks, Problem(field="--marks", found="only for a vein map", mend=mend))
    return MapNetwork(network=vein_network_from_json(text, file), assumptions=())


def _network_of_map(text: str, file: Path, marks: Path | None) -> "MapNetwork":
    from coilwright.planning.map_network import map_network  # noqa: PLC0415 - see pathways()
    from coilwright.planning.marks_fit import MarksDoNotFit  # noqa: PLC0415 - see pathways()
    from coilwright.planning.network_marks_file import (  # noqa: PLC0415 - see pathways()
        read_network_marks,
    )
    from coilwright.veins import vein_map_from_json  # noqa: PLC0415 - see pathways()

    vein_map = vein_map_from_json(text, file)
    if marks is None:
        mend = "say with --marks MARKS.toml where the catheter enters and how wide it is"
        raise FileProblem(file, Problem(field="format", found="a vein map", mend=mend))
    try:
        return map_network(vein_map, read_network_marks(marks))
    except MarksDoNotFit as error:
        raise FileProblem(file if error.of_map else marks, error.problem) from error


def _text(file: Path) -> str:
    """UTF-8, with or without the mark that some editors put in front."""
    try:
        return file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        problem = Problem(field="file", found="not UTF-8 text", mend="save it as UTF-8")
        raise FileProblem(file, problem) from error
    except OSError as error:
        found = (error.strerror or "cannot be read").lower()
        problem = Problem(field="file", found=found, mend="give a JSON file that can be read")
        raise FileProblem(file, problem) from error


def _format(text: str) -> object:
    """The format that a document names; what is no document is told by its reader."""
    try:
        document = json_module.loads(text)
    except (ValueError, RecursionError):
        return None
    return document.get("format") if isinstance(document, dict) else None


def _say(name: str, answer: "LeastClosure") -> None:
    """Whether it can be shut first; the flow that is left only ever as a band."""
    from coilwright.planning.residual_band import (  # noqa: PLC0415 - see pathways()
        NOT_VALIDATED,
        residual_band,
    )

    typer.echo(f"{name}: {_verdict(answer)}")
    if answer.occlude:
        typer.echo(f"  in this order, far ones first: {', '.join(answer.occlude)}")
        typer.echo(f"  cost: {answer.cost:g}, the sum of what the network says each costs")
    if answer.unreachable:
        typer.echo(f"  the catheter does not reach or enter: {', '.join(answer.unreachable)}")
    for path in answer.open_pathways[:SHOWN]:
        typer.echo(f"  stays open: {' > '.join(path)}")
    if len(answer.open_pathways) > SHOWN or answer.open_pathways_cut_short:
        typer.echo(f"  stays open: more than these {SHOWN}; see --json")
    if not answer.complete:
        typer.echo(
            f"  of the flow before there stays: {residual_band(answer.residual_conductance_share)}"
        )
        typer.echo(f"  ({NOT_VALIDATED})")
    for assumption in answer.assumptions:
        typer.echo(f"  taken for granted: {assumption}")
    typer.echo("This is the least that must be shut of the veins that were seen, not the plan.")
    typer.echo(answer.disclaimer)


def _verdict(answer: "LeastClosure") -> str:
    if not answer.complete:
        return "not every pathway can be shut"
    if not answer.occlude:
        return "no pathway from inflow to outflow in it; nothing to close of what it shows"
    return f"every pathway that it shows is shut by closing {len(answer.occlude)}"
