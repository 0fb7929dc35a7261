"""A kit file (TOML or CSV), read into the catalogue; what is wrong is told with its place."""

from pathlib import Path
from typing import Any

from coilwright.kit.device import ImpossibleLabel
from coilwright.kit.device_row import device_from_row, file_problem, unknown_key
from coilwright.kit.kit import KINDS, Kit
from coilwright.kit.kit_csv import kit_from_csv
from coilwright.toml_file import read_toml

FORMAT = "coilwright.kit"
VERSION = 1


def load_kit(path: Path) -> Kit:
    """The catalogue in a kit file: CSV (docs/kit-csv.md) where its name ends so, else TOML.

    Raises
    ------
    FileProblem
        The file cannot be read, is no kit, or holds an unknown key, a missing key or a value that
        cannot be used. Nothing of it is taken then.
    """
    return kit_from_csv(path) if path.suffix.lower() == ".csv" else _kit_from_toml(path)


def _kit_from_toml(path: Path) -> Kit:
    document = _document(path)
    tables = {
        table: tuple(
            device_from_row(path, f"{table}[{number}].", row, KINDS[table])
            for number, row in enumerate(_rows(path, table, document), start=1)
        )
        for table in document
    }
    try:
        return Kit(**tables)  # type: ignore[arg-type]  # each table holds its own kind
    except ImpossibleLabel as error:
        raise file_problem(path, error.field, error.found, error.mend) from error


def _document(path: Path) -> dict[str, Any]:
    document = read_toml(path).table
    if document.pop("format", None) != FORMAT:
        raise file_problem(path, "format", "not a kit", f'write format = "{FORMAT}" at the top')
    if (version := document.pop("version", None)) != VERSION:
        raise file_problem(path, "version", f"{version!r} is not known here", f"write {VERSION}")
    for key in document:
        if key not in KINDS:
            raise unknown_key(path, "", key, list(KINDS))
    return document


def _rows(path: Path, table: str, document: dict[str, Any]) -> list[dict[str, Any]]:
    rows = document[table]
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise file_problem(
            path, table, "not a list of tables", f"write [[{table}]] for each device"
        )
    return rows
