"""What the commands of the shelf share: the record, who books, when it happened."""

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from coilwright.errors import InputError

if TYPE_CHECKING:  # only named here: the command line must answer at once
    from coilwright.workflow.shelf_booking import Booker, Judged

Record = Annotated[Path, typer.Argument(metavar="RECORD", help="The file that holds the record.")]
KitFile = Annotated[Path, typer.Argument(metavar="KIT", help="The kit: TOML or CSV.")]
Scans = Annotated[
    list[str],
    typer.Argument(
        metavar="SCAN [...]", help="What the scanner sends: the code or codes of one pack."
    ),
]
By = Annotated[str, typer.Option("--by", metavar="NAME", help="Who books it.")]
At = Annotated[
    str | None,
    typer.Option("--at", metavar="TIME", help="When it happened, as 2026-11-25T14:05; else now."),
]
Count = Annotated[int, typer.Option("--count", min=1, help="How many packs.")]
Case = Annotated[str, typer.Option("--case", metavar="ID", help="The case that it was for.")]
Recalls = Annotated[
    Path | None,
    typer.Option("--recalls", metavar="RECALLS.toml", help="The recall list."),
]


class OptionProblem(InputError):
    """An option that cannot be used; nothing was booked."""

    def __init__(self, option: str, found: str, mend: str) -> None:
        self.option, self.found, self.mend = option, found, mend
        super().__init__(option, found, mend)

    def __str__(self) -> str:
        return f"{self.option}: {self.found}; {self.mend}. Nothing was booked."


def one_of(**ways: object) -> None:
    """Refuse two ways of saying the same.

    Raises
    ------
    OptionProblem
        More than one of the ways is given.
    """
    given = [name if name.isupper() else f"--{name}" for name, way in ways.items() if way]
    if len(given) > 1:
        raise OptionProblem(" and ".join(given), "both given", "give one of them")


def booker_of(by: str, at: str | None) -> "Booker":
    """Who and when; a time without a zone is this machine's own.

    Raises
    ------
    OptionProblem
        No name, a time that cannot be read, or one that lies ahead.
    """
    from coilwright.workflow.shelf_booking import Booker  # noqa: PLC0415 - takes time to import

    if not by.strip():
        raise OptionProblem("--by", "empty", "say who books it")
    now = dt.datetime.now(dt.UTC)
    return Booker(author=by.strip(), at=_time_of(at, now), recorded_at=now)


def _time_of(at: str | None, now: dt.datetime) -> dt.datetime:
    if at is None:
        return now
    try:
        happened = dt.datetime.fromisoformat(at).astimezone(dt.UTC)
    except (ValueError, OverflowError) as error:
        found = f"{at!r} is no time"
        raise OptionProblem("--at", found, "write it as 2026-11-25T14:05") from error
    if happened > now:
        raise OptionProblem("--at", f"{at} lies ahead", "give the time at which it happened")
    return happened


def judged_by(recalls: Path | None) -> "Judged":
    """Today and the recall list, if one is given."""
    from coilwright.kit import load_recalls  # noqa: PLC0415 - takes time to import
    from coilwright.workflow.shelf_booking import Judged  # noqa: PLC0415 - the same

    listed = () if recalls is None else load_recalls(recalls)
    return Judged(today=dt.date.today(), recalls=listed)
