"""A table of a TOML file that a person wrote, read key by key."""

import math
from collections.abc import Iterable, Mapping
from enum import StrEnum
from itertools import pairwise
from pathlib import Path
from typing import TypeVar

from coilwright.errors import FileProblem, Problem
from coilwright.veins.vessels import Point

Choice = TypeVar("Choice", bound=StrEnum)
# Possible values, so that a slip of the pen is caught: (least, most).
PIXELS = (-4096.0, 8192.0)


def require_head(
    file: Path, table: Mapping[str, object], form: str, version: int, keys: Iterable[str]
) -> None:
    """Refuse a file that does not name its format and version, or has other keys than ``keys``.

    Raises
    ------
    FileProblem
        The first thing wrong.
    """

    def wrong(field: str, found: str, mend: str) -> FileProblem:
        return FileProblem(file, Problem(field=field, found=found, mend=mend))

    if table.get("format") != form:
        raise wrong("format", f"not a {form} file", f'write format = "{form}"')
    stated = table.get("version")
    if stated != version or isinstance(stated, bool):
        raise wrong("version", "not known here", f"write version = {version}")
    unknown = [key for key in table if key not in keys]
    if unknown:
        name = " ".join(unknown[0].split())[:40]
        raise wrong(name, "unknown key", f"use one of {', '.join(keys)}")


class CheckedTable:
    """One table of a TOML file, read key by key; the first thing wrong is told.

    ``label`` names it for people, ``known`` are keys that are looked at elsewhere.
    """

    def __init__(
        self, file: Path, table: Mapping[str, object], label: str, known: Iterable[str] = ()
    ) -> None:
        self._file, self._table, self._label = file, table, label
        self._known = set(known)

    def wrong(self, key: str, found: str, mend: str) -> FileProblem:
        field = f"{self._label}, {' '.join(key.split())[:40]}"
        return FileProblem(self._file, Problem(field=field, found=found, mend=mend))

    def has(self, key: str) -> bool:
        self._known.add(key)
        return key in self._table

    def value(self, key: str, what: str) -> object:
        if not self.has(key):
            raise self.wrong(key, "missing", f"add {what}")
        return self._table[key]

    def text(self, key: str, what: str) -> str:
        value = self.value(key, what)
        if not isinstance(value, str) or not value.strip():
            raise self.wrong(key, "not a text", f"write {what} in quotation marks")
        return value.strip()

    def number(self, key: str, between: tuple[float, float], unit: str) -> float:
        low, high = between
        what = f"a number from {low:g} to {high:g}{unit}"
        value = self.value(key, what)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.wrong(key, "not a number", f"write {what}")
        if not (math.isfinite(value) and low <= value <= high):
            raise self.wrong(key, f"{value:g}{unit} is impossible", f"write {what}")
        return float(value)

    def maybe(self, key: str, between: tuple[float, float], unit: str) -> float | None:
        return self.number(key, between, unit) if self.has(key) else None

    def flag(self, key: str) -> bool | None:
        if not self.has(key):
            return None
        value = self._table[key]
        if not isinstance(value, bool):
            raise self.wrong(key, "neither true nor false", "write true or false")
        return value

    def option(self, key: str, options: type[Choice]) -> Choice:
        words = " or ".join(f'"{option.value}"' for option in options)
        value = self.text(key, words)
        try:
            return options(value)
        except ValueError:
            raise self.wrong(key, "not possible", f"write {words}") from None

    def point(self, key: str, value: object) -> Point:
        if not (isinstance(value, list) and len(value) == 2):
            raise self.wrong(key, "not a point", "write [x, y] in pixels, column first")
        for part in value:
            if isinstance(part, bool) or not isinstance(part, int | float):
                raise self.wrong(key, "not a point", "write [x, y] in pixels, column first")
            if not PIXELS[0] <= part <= PIXELS[1]:
                raise self.wrong(key, f"{part:g} lies outside any picture", "write pixels")
        return float(value[0]), float(value[1])

    def points(self, key: str) -> tuple[Point, ...]:
        value = self.value(key, "a list of points [x, y] in pixels")
        if not isinstance(value, list) or len(value) < 2:
            raise self.wrong(key, "not a path", "write two points [x, y] or more")
        points = tuple(self.point(key, part) for part in value)
        if any(a == b for a, b in pairwise(points)):
            raise self.wrong(key, "the same point twice in a row", "leave one of them out")
        return points

    def done(self) -> None:
        unknown = [key for key in self._table if key not in self._known]
        if unknown:
            known = ", ".join(sorted(self._known))
            raise self.wrong(unknown[0], "unknown key", f"use one of {known}")
