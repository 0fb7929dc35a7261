"""One table of a case file, read field by field; every problem is kept, none stops the reading.

A reader's methods return None (or an empty stand-in, for what is required) where a value cannot be
used, and note why. Whoever reads must raise when any problem was noted, so that a stand-in never
leaves the door.
"""

import datetime as dt
import json
import math
from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from enum import StrEnum
from typing import TypeVar

from coilwright.errors import Problem
from coilwright.units import Quantity, QuantityKind, QuantityProblem, parse_quantity, written_units
from coilwright.veins import Side

Choice = TypeVar("Choice", bound=StrEnum)


class _Sides(StrEnum):
    """How the sides to be treated are written."""

    LEFT = "left"
    RIGHT = "right"
    BOTH = "both"


Bounds = tuple[float, float]
_SHOWN_CHARACTERS = 24


class Fields:
    """The fields of one table; ``path`` is its dotted key."""

    def __init__(
        self,
        table: Mapping[str, object],
        *,
        path: str,
        problems: list[Problem],
        present: bool = True,
    ) -> None:
        self._table, self._path, self._problems = table, path, problems
        self._known: list[str] = []
        self.present = present

    def path(self, key: str) -> str:
        """The dotted key of a field."""
        return f"{self._path}.{key}" if self._path else key

    def note(self, key: str, found: str, mend: str) -> None:
        """Keep a problem with one field."""
        field = " ".join(self.path(key).split())
        self._problems.append(Problem(field=field, found=found, mend=mend))

    def has(self, key: str) -> bool:
        """Whether the table holds the key."""
        return key in self._table

    def raw(self, key: str) -> object:
        """The value as it stands, None where there is none; the key counts as known."""
        self._known.append(key)
        return self._table.get(key)

    def done(self) -> None:
        """Note every key that nobody asked for, with the near one that may be meant."""
        for key in self._table:
            if key not in self._known:
                near = get_close_matches(key, self._known, n=1)
                known = f"use one of {', '.join(sorted(set(self._known)))}"
                self.note(key, "unknown key", f"perhaps {near[0]} is meant" if near else known)

    def text(self, key: str) -> str | None:
        """Text that is not empty."""
        value = self.raw(key)
        if value is None:
            return None
        if not isinstance(value, str) or not value.strip():
            self.note(key, "not a text", "give it in quotation marks, or leave the key out")
            return None
        return value.strip()

    def required_text(self, key: str) -> str:
        """Text that must be there."""
        if not self.has(key):
            self.missing(key, "a text")
        return self.text(key) or ""

    def fixed(self, key: str, value: str | int, found: str) -> None:
        """A key that may be left out, but may hold nothing else."""
        stated = self.raw(key)
        if stated is not None and (stated != value or isinstance(stated, bool)):
            self.note(key, found, f"write {json.dumps(value)}")

    def need_one_of(self, *keys: str) -> None:
        """Note that exactly one of several keys must be there."""
        there = [key for key in keys if self.has(key)]
        if not there:
            self.missing(keys[0], f"it, or {' or '.join(keys[1:])}")
        for key in there[1:]:
            self.note(key, f"stated beside {there[0]}", "give each its own table")

    def missing(self, key: str, what: str) -> None:
        """Note that a required field is not there."""
        self.note(key, "missing", f"add {what}")

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts; one text alone is a list of one."""
        value = self.raw(key)
        if value is None:
            return ()
        items = [value] if isinstance(value, str) else value
        if not isinstance(items, list) or not all(isinstance(i, str) and i.strip() for i in items):
            self.note(key, "not a list of texts", 'write it as ["...", "..."]')
            return ()
        return tuple(item.strip() for item in items)

    def flag(self, key: str) -> bool | None:
        """True or false; None where nobody has said."""
        value = self.raw(key)
        if value is None or isinstance(value, bool):
            return value
        self.note(key, "neither true nor false", "write true or false, or leave the key out")
        return None

    def required_flag(self, key: str) -> bool:
        """True or false, which must be there."""
        if not self.has(key):
            self.missing(key, "true or false")
        return bool(self.flag(key))

    def option(self, key: str, options: type[Choice]) -> Choice | None:
        """One of a few words."""
        value = self.raw(key)
        if value is None:
            return None
        try:
            return options(value.strip().lower() if isinstance(value, str) else "")
        except ValueError:
            words = " or ".join(f'"{option.value}"' for option in options)
            self.note(key, f'"{_shown(value)}" is not possible', f"write {words}")
            return None

    def required_option(self, key: str, options: type[Choice]) -> Choice:
        """One of a few words, which must be there."""
        words = tuple(options)
        if not self.has(key):
            self.missing(key, " or ".join(f'"{word.value}"' for word in words))
        return self.option(key, options) or words[0]

    def side(self, key: str = "side") -> Side | None:
        """Left or right, never anything else and never inferred."""
        return self.option(key, Side)

    def sides(self, key: str = "side") -> tuple[Side, ...]:
        """Left, right or both; empty where it is not stated."""
        stated = self.option(key, _Sides)
        if stated is None:
            return ()
        return tuple(Side) if stated is _Sides.BOTH else (Side(stated.value),)

    def day(self, key: str, *, not_after: dt.date | None = None) -> dt.date | None:
        """A day; a day later than ``not_after`` is a problem."""
        value = _as_day(self.raw(key))
        if not self.has(key):
            return None
        if value is None:
            self.note(key, "not a day", "write year-month-day, such as 2025-01-31")
        elif not_after is not None and value > not_after:
            self.note(key, "the day lies in the future", "check the year, month and day")
            return None
        return value

    def moment(self, key: str) -> str | None:
        """A time of day or a day with time, as text."""
        value = self.raw(key)
        moment = _as_moment(value)
        if value is not None and moment is None:
            self.note(key, "not a time", "write a time such as 10:42:00")
        return None if moment is None else moment.isoformat()

    def quantity(
        self,
        key: str,
        kind: QuantityKind,
        between: Bounds | None = None,
        *,
        beside: tuple[str, ...] = (),
    ) -> Quantity | None:
        """A number with its unit.

        ``between`` are the possible values in the kind's first unit; ``beside`` are the keys that
        a table {value, unit} may hold besides these two.
        """
        value = self.raw(key)
        if value is None:
            return None
        if isinstance(value, Mapping):
            self._note_strangers(key, value, ("value", "unit", *beside))
        try:
            quantity = parse_quantity(value, kind)
        except QuantityProblem as problem:
            self.note(key, problem.found, problem.mend)
            return None
        unit = written_units(kind)[0]
        if between is not None and not between[0] <= quantity.to(unit) <= between[1]:
            possible = f"{between[0]:g} to {between[1]:g} {unit}"
            self.note(key, f"{quantity} is not possible", f"give a value from {possible}")
            return None
        return quantity

    def dated_quantity(
        self, key: str, kind: QuantityKind, between: Bounds, *, not_after: dt.date
    ) -> tuple[Quantity | None, dt.date | None]:
        """A quantity, and the date that its table {value, unit, date} may hold."""
        quantity = self.quantity(key, kind, between, beside=("date",))
        if not isinstance(self._table.get(key), Mapping):
            return quantity, None
        return quantity, self.table(key).day("date", not_after=not_after)

    def dated_ratio(
        self, key: str, between: Bounds, *, not_after: dt.date
    ) -> tuple[float | None, dt.date | None]:
        """A number without unit, alone or as a table {value, date}."""
        if not isinstance(self._table.get(key), Mapping):
            return self.ratio(key, between), None
        inner = self.table(key)
        if not inner.has("value"):
            inner.missing("value", "a number")
        if inner.raw("unit") not in (None, "1"):
            inner.note("unit", "a ratio has no unit", "leave the key out")
        value = inner.ratio("value", between)
        day = inner.day("date", not_after=not_after)
        inner.done()
        return value, day

    def _note_strangers(
        self, key: str, table: Mapping[str, object], known: tuple[str, ...]
    ) -> None:
        for name in table:
            if name not in known:
                self.note(f"{key}.{name}", "unknown key", f"use one of {', '.join(known)}")

    def measure(
        self, key: str, kind: QuantityKind, unit: str, between: Bounds | None = None
    ) -> float | None:
        """A quantity's number in ``unit``."""
        quantity = self.quantity(key, kind, between)
        return None if quantity is None else quantity.to(unit)

    def required_measure(
        self, key: str, kind: QuantityKind, unit: str, between: Bounds | None = None
    ) -> float:
        """A quantity's number in ``unit``, which must be there."""
        if not self.has(key):
            self.missing(key, f"the {kind} with its unit ({', '.join(written_units(kind))})")
        return self.measure(key, kind, unit, between) or 0.0

    def number(self, key: str, between: Bounds) -> float | None:
        """A number whose unit stands in the key."""
        return self._bounded(key, self.raw(key), between)

    def count(self, key: str, between: Bounds) -> int | None:
        """A whole number."""
        number = self.number(key, between)
        if number is not None and not number.is_integer():
            self.note(key, "not a whole number", "give a whole number")
            return None
        return None if number is None else int(number)

    def ratio(self, key: str, between: Bounds) -> float | None:
        """A number that has no unit, such as an INR; it may be typed as a text."""
        value = self.raw(key)
        try:
            number = _plain_number(value) if isinstance(value, str) else value
            return self._bounded(key, number, between)
        except ValueError:
            self.note(key, f'"{_shown(value)}" is not a plain number', "give it without a unit")
            return None

    def _bounded(self, key: str, value: object, between: Bounds) -> float | None:
        if value is None:
            return None
        number = _as_number(value)
        if number is None or not between[0] <= number <= between[1]:
            possible = f"a number from {between[0]:g} to {between[1]:g}"
            self.note(key, f'"{_shown(value)}" is not possible', f"give {possible}")
            return None
        return number

    def whole_numbers(self, key: str) -> tuple[int, ...] | None:
        """A list of whole numbers from 0."""
        value = self.raw(key)
        if value is None:
            return None
        if not isinstance(value, list) or not value or not all(map(_is_index, value)):
            self.note(key, "not a list of whole numbers", "write frames from 0, such as [0, 1]")
            return None
        return tuple(value)

    def point(self, key: str) -> tuple[float, float] | None:
        """A point [x, y] in pixels."""
        value = self.raw(key)
        if value is None:
            return None
        numbers = [_as_number(item) for item in value] if isinstance(value, list) else []
        if len(numbers) != 2 or numbers[0] is None or numbers[1] is None:
            self.note(key, "not a point", "write [x, y] in pixels of the raw frame")
            return None
        return numbers[0], numbers[1]

    def required_table(self, key: str, what: str) -> "Fields":
        """A table inside this one, which must be there."""
        if not self.has(key):
            self.missing(key, what)
        return self.table(key)

    def table(self, key: str) -> "Fields":
        """A table inside this one; an absent one reads as empty."""
        value = self.raw(key)
        if value is not None and not isinstance(value, Mapping):
            self.note(key, "not a table", f"write it as [{self.path(key)}] with keys below")
            value = None
        return self._inner(value or {}, self.path(key), present=value is not None)

    def tables(self, key: str) -> "Sequence[Fields]":
        """A list of tables inside this one; one table alone is a list of one."""
        value = self.raw(key)
        if value is None:
            return ()
        items = [value] if isinstance(value, Mapping) else value
        if not isinstance(items, list) or not all(isinstance(item, Mapping) for item in items):
            self.note(key, "not a list of tables", f"write it as [[{self.path(key)}]]")
            return ()
        return [self._inner(item, f"{self.path(key)}[{place}]") for place, item in enumerate(items)]

    def _inner(self, table: Mapping[str, object], path: str, present: bool = True) -> "Fields":
        return Fields(table, path=path, problems=self._problems, present=present)


def _as_day(value: object) -> dt.date | None:
    if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
        return value
    if not isinstance(value, str):
        return None
    try:
        return dt.date.fromisoformat(value.strip())
    except ValueError:
        return None


def _as_moment(value: object) -> dt.datetime | dt.time | None:
    if isinstance(value, dt.datetime | dt.time):
        return value
    if not isinstance(value, str):
        return None
    for read in (dt.time.fromisoformat, dt.datetime.fromisoformat):
        try:
            return read(value.strip()) if ":" in value else None
        except ValueError:
            continue
    return None


def _plain_number(text: str) -> float:
    """A number in plain digits; Python's own reading takes other scripts and underscores too."""
    if not text.isascii() or "_" in text:
        raise ValueError(text)
    return float(text)


def _as_number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None


def _is_index(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and value >= 0


def _shown(value: object) -> str:
    try:
        text = " ".join(str(value).split())
    except ValueError:  # a whole number of thousands of digits
        text = "thousands of digits"
    return text if len(text) <= _SHOWN_CHARACTERS else f"{text[:_SHOWN_CHARACTERS]}..."
