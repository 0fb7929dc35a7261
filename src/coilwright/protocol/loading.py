"""The protocol put together: the package's data files, and over them the site's own."""

from dataclasses import replace
from difflib import get_close_matches
from importlib import resources
from pathlib import Path
from typing import TypeVar

from coilwright.advice import Status
from coilwright.errors import FileProblem, Problem
from coilwright.protocol.basis import weakest
from coilwright.protocol.limit_units import LIMIT_UNITS
from coilwright.protocol.limits import Choice, Limit, Override
from coilwright.protocol.protocol import Protocol
from coilwright.protocol.rows import (
    ChoiceChangeRow,
    LimitChangeRow,
    LimitRow,
    OverlayFile,
    ProtocolFile,
)
from coilwright.protocol.rows_file import place_of, read_rows

Found = TypeVar("Found")
DATA_FOLDER = Path(str(resources.files("coilwright.protocol"))) / "data"


def load_protocol(overlay: Path | None = None) -> Protocol:
    """The limits and choices in force, the site's overlay laid over the package's own.

    Raises
    ------
    FileProblem
        A file cannot be read, or holds an unknown key, a wrong unit or a value outside the
        sanity bounds; the sentence names the file, the key and where it can the line.
    """
    protocol = read_data_folder(DATA_FOLDER)
    return protocol if overlay is None else lay_over(protocol, overlay)


def read_data_folder(folder: Path) -> Protocol:
    """The limits and choices of every TOML file in a folder; an id may stand in one only."""
    limits: dict[str, Limit] = {}
    choices: dict[str, Choice] = {}
    versions = []
    for file in sorted(folder.glob("*.toml")):
        rows = read_rows(file, ProtocolFile)
        versions.append(f"{file.stem} {rows.version}")
        for id, limit_row in rows.limits.items():
            _refuse_twice(file, f"limits.{id}", id in limits)
            limits[id] = _limit(file, id, limit_row)
        for id, choice_row in rows.choices.items():
            _refuse_twice(file, f"choices.{id}", id in choices)
            if choice_row.value not in choice_row.options:
                raise _not_an_option(file, id, choice_row.value, choice_row.options)
            choices[id] = choice_row.choice(id)
    return Protocol(
        name="Coilwright limits", version=", ".join(versions), limits=limits, choices=choices
    )


def lay_over(protocol: Protocol, overlay: Path) -> Protocol:
    """The protocol with a site's changes and sign-offs; what changed stays on the limit."""
    rows = read_rows(overlay, OverlayFile)
    limits, choices = dict(protocol.limits), dict(protocol.choices)
    for id, limit_row in rows.limits.items():
        limits[id] = _changed_limit(overlay, _known(overlay, "limits", id, limits), limit_row)
    for id, choice_row in rows.choices.items():
        choices[id] = _changed_choice(overlay, _known(overlay, "choices", id, choices), choice_row)
    return Protocol(
        name=rows.name or protocol.name,
        version=f"{protocol.version}, {overlay.stem} {rows.version}",
        limits=limits,
        choices=choices,
    )


def _changed_limit(file: Path, limit: Limit, row: LimitChangeRow) -> Limit:
    if row.unit is not None and row.unit != limit.unit:
        raise _problem(
            file, f"limits.{limit.id}.unit", f'unit "{row.unit}"', f'give it in "{limit.unit}"'
        )
    value = limit.value if row.value is None else row.value
    if not limit.minimum <= value <= limit.maximum:
        raise _out_of_bounds(file, limit.id, value, limit.unit, (limit.minimum, limit.maximum))
    return replace(
        limit,
        value=value,
        source=row.source or _source_after(limit, row),
        status=row.status or _status_after(limit, row),
        signed_off_by=row.signed_off_by,
        signed_off_on=row.signed_off_on,
        overridden=_override(row, limit.value),
    )


def _source_after(limit: Limit, row: LimitChangeRow) -> str:
    """A site's own number no longer stands on the source of the number before it."""
    if row.value is None:
        return limit.source
    return (
        f"local limit: {row.why} ({row.changed_by}, {row.changed_on}); "
        f"before: {limit.value:g} {limit.unit}, {limit.source}"
    )


def _status_after(limit: Limit, row: LimitChangeRow) -> Status:
    if row.value is None:
        return limit.status
    return weakest((limit.status, Status.COMMON_PRACTICE))


def _changed_choice(file: Path, choice: Choice, row: ChoiceChangeRow) -> Choice:
    value = row.value or choice.value
    if value not in choice.options:
        raise _not_an_option(file, choice.id, value, choice.options)
    return replace(
        choice,
        value=value,
        source=row.source or choice.source,
        status=row.status or choice.status,
        signed_off_by=row.signed_off_by,
        signed_off_on=row.signed_off_on,
        overridden=_override(row, choice.value),
    )


def _override(row: LimitChangeRow | ChoiceChangeRow, before: float | str) -> Override | None:
    if not row.changes or row.why is None or row.changed_by is None or row.changed_on is None:
        return None
    return Override(
        value_before=before, why=row.why, changed_by=row.changed_by, changed_on=row.changed_on
    )


def _limit(file: Path, id: str, row: LimitRow) -> Limit:
    if row.unit not in LIMIT_UNITS:
        same = [unit for unit in sorted(LIMIT_UNITS) if unit.casefold() == row.unit.casefold()]
        near = same or get_close_matches(row.unit, sorted(LIMIT_UNITS), n=1)
        mend = f'perhaps "{near[0]}" is meant' if near else "use a unit of limit_units.py"
        raise _problem(file, f"limits.{id}.unit", f'unknown unit "{row.unit}"', mend)
    if not row.minimum <= row.value <= row.maximum:
        raise _out_of_bounds(file, id, row.value, row.unit, (row.minimum, row.maximum))
    return row.limit(id)


def _known(file: Path, kind: str, id: str, known: dict[str, Found]) -> Found:
    if id in known:
        return known[id]
    near = get_close_matches(id, known, n=1)
    mend = f"perhaps {near[0]} is meant" if near else "use an id of the protocol page"
    raise _problem(file, f"{kind}.{id}", "no such id in the protocol", mend)


def _problem(file: Path, key: str, found: str, mend: str) -> FileProblem:
    field = place_of(file.read_text(encoding="utf-8"), key)
    return FileProblem(file, Problem(field=field, found=found, mend=mend))


def _refuse_twice(file: Path, key: str, twice: bool) -> None:
    if twice:
        raise _problem(file, key, "another data file holds this id too", "keep it in one file")


def _out_of_bounds(
    file: Path, id: str, value: float, unit: str, bounds: tuple[float, float]
) -> FileProblem:
    return _problem(
        file,
        f"limits.{id}.value",
        f"{value:g} {unit} is outside the sanity bounds",
        f"give a value from {bounds[0]:g} to {bounds[1]:g} {unit}",
    )


def _not_an_option(file: Path, id: str, value: str, options: tuple[str, ...]) -> FileProblem:
    return _problem(
        file, f"choices.{id}.value", f'"{value}" is no option', f"use one of {', '.join(options)}"
    )
