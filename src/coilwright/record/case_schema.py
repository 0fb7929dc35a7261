"""The JSON Schema of the case file, told by the very code that reads it.

``SchemaFields`` stands in for a table: it answers every question with nothing and notes what was
asked, so the schema names each key that the reader knows and no other.
"""

import datetime as dt
from collections.abc import Sequence
from enum import StrEnum
from typing import Any, TypeVar

from coilwright.record.case_file import CASE_FORMAT, read_case_tables
from coilwright.record.fields import Bounds, Fields
from coilwright.units import Quantity, QuantityKind, written_units
from coilwright.veins import Side

Choice = TypeVar("Choice", bound=StrEnum)
Schema = dict[str, Any]
_DAY: Schema = {"type": "string", "format": "date", "description": "a TOML date, 2026-01-31"}
_TEXT: Schema = {"type": "string", "minLength": 1}
# A number and its unit; a unit that begins with a digit (10^9/L) stands apart from it.
_NUMBER = r"[-+]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][-+]?[0-9]+\s)?"
_TYPED = rf"^\s*{_NUMBER}(\s*[^0-9.\s]|\s+\S)"
_TEXTS: Schema = {"anyOf": [_TEXT, {"type": "array", "items": _TEXT}]}


def case_schema() -> Schema:
    """JSON Schema (2020-12) of a case file, as TOML is read into JSON's types."""
    top = SchemaFields()
    for _ in read_case_tables(top, None, dt.date.max):
        pass
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": CASE_FORMAT,
        **top.schema(),
        "$defs": _definitions(),
    }


class SchemaFields(Fields):
    """A table that holds nothing and remembers what it was asked for."""

    def __init__(self) -> None:
        super().__init__({}, path="", problems=[])
        self._properties: dict[str, Schema] = {}
        self._required: list[str] = []
        self._one_of: tuple[str, ...] = ()
        # Filled in by their reader only after they were handed out.
        self._tables: dict[str, SchemaFields] = {}
        self._lists: dict[str, SchemaFields] = {}

    def schema(self) -> Schema:
        """What was asked for, as the schema of an object."""
        tables = {key: inner.schema() for key, inner in self._tables.items()}
        lists = {key: _one_or_more(inner.schema()) for key, inner in self._lists.items()}
        schema: Schema = {
            "type": "object",
            "properties": self._properties | tables | lists,
            "additionalProperties": False,
        }
        if self._required:
            schema["required"] = list(dict.fromkeys(self._required))
        if self._one_of:
            schema["oneOf"] = [{"required": [key]} for key in self._one_of]
        return schema

    def has(self, key: str) -> bool:  # noqa: ARG002  # whatever is asked for is there
        return True

    def note(self, key: str, found: str, mend: str) -> None:
        """Nothing is wrong with a table that holds nothing."""

    def done(self) -> None:
        """Every key that was asked for is known by now."""

    def fixed(self, key: str, value: str | int, found: str) -> None:  # noqa: ARG002  # one shape
        self._properties[key] = {"const": value}

    def need_one_of(self, *keys: str) -> None:
        self._one_of = keys

    def text(self, key: str) -> str | None:
        self._properties[key] = _TEXT
        return None

    def required_text(self, key: str) -> str:
        self._required.append(key)
        return self.text(key) or ""

    def texts(self, key: str) -> tuple[str, ...]:
        self._properties[key] = _TEXTS
        return ()

    def flag(self, key: str) -> bool | None:
        self._properties[key] = {"type": "boolean"}
        return None

    def required_flag(self, key: str) -> bool:
        self._required.append(key)
        return bool(self.flag(key))

    def option(self, key: str, options: type[Choice]) -> Choice | None:
        self._properties[key] = _words([option.value for option in options])
        return None

    def required_option(self, key: str, options: type[Choice]) -> Choice:
        self._required.append(key)
        return self.option(key, options) or next(iter(options))

    def day(self, key: str, *, not_after: dt.date | None = None) -> dt.date | None:
        self._properties[key] = _DAY | ({} if not_after is None else {"$comment": "not in future"})
        return None

    def moment(self, key: str) -> str | None:
        self._properties[key] = {"type": "string", "description": "a TOML time, or a text"}
        return None

    def quantity(
        self,
        key: str,
        kind: QuantityKind,
        between: Bounds | None = None,
        *,
        beside: tuple[str, ...] = (),
    ) -> Quantity | None:
        self._properties[key] = _quantity(kind, between, dated="date" in beside)
        return None

    def dated_quantity(
        self,
        key: str,
        kind: QuantityKind,
        between: Bounds,
        *,
        not_after: dt.date,  # noqa: ARG002  # one shape
    ) -> tuple[Quantity | None, dt.date | None]:
        return self.quantity(key, kind, between, beside=("date",)), None

    def required_measure(
        self, key: str, kind: QuantityKind, unit: str, between: Bounds | None = None
    ) -> float:
        self._required.append(key)
        return self.measure(key, kind, unit, between) or 0.0

    def number(self, key: str, between: Bounds) -> float | None:
        self._properties[key] = _number(between)
        return None

    def count(self, key: str, between: Bounds) -> int | None:
        self._properties[key] = _number(between) | {"type": "integer"}
        return None

    def ratio(self, key: str, between: Bounds) -> float | None:
        self._properties[key] = {"anyOf": [_number(between), _TEXT]}
        return None

    def dated_ratio(
        self,
        key: str,
        between: Bounds,
        *,
        not_after: dt.date,  # noqa: ARG002  # one shape
    ) -> tuple[float | None, dt.date | None]:
        table = {
            "value": {"anyOf": [_number(between), _TEXT]},
            "unit": {"const": "1"},
            "date": _DAY,
        }
        self._properties[key] = {"anyOf": [_number(between), _TEXT, _object(table, ["value"])]}
        return None, None

    def whole_numbers(self, key: str) -> tuple[int, ...] | None:
        items = {"type": "integer", "minimum": 0}
        self._properties[key] = {"type": "array", "items": items, "minItems": 1}
        return None

    def point(self, key: str) -> tuple[float, float] | None:
        pair = {"type": "number"}
        self._properties[key] = {"type": "array", "items": pair, "minItems": 2, "maxItems": 2}
        return None

    def sides(self, key: str = "side") -> tuple[Side, ...]:
        self._properties[key] = _words([*(side.value for side in Side), "both"])
        return ()

    def required_table(self, key: str, what: str) -> Fields:  # noqa: ARG002  # one shape
        self._required.append(key)
        return self.table(key)

    def table(self, key: str) -> Fields:
        self._tables[key] = SchemaFields()
        return self._tables[key]

    def tables(self, key: str) -> Sequence[Fields]:
        self._lists[key] = SchemaFields()
        return (self._lists[key],)


def _object(properties: Schema, required: list[str]) -> Schema:
    return {
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": False,
    }


def _one_or_more(item: Schema) -> Schema:
    return {"anyOf": [item, {"type": "array", "items": item}]}


def _words(words: list[str]) -> Schema:
    """One of a few words; in capitals or among spaces, as the reader takes them too."""
    anycase = ("".join(f"[{c}{c.upper()}]" if c.isalpha() else c for c in word) for word in words)
    return {
        "anyOf": [{"enum": words}, {"type": "string", "pattern": rf"^\s*({'|'.join(anycase)})\s*$"}]
    }


def _number(between: Bounds) -> Schema:
    return {"type": "number", "minimum": between[0], "maximum": between[1]}


def _quantity(kind: QuantityKind, between: Bounds | None, *, dated: bool) -> Schema:
    """A reference to the kind's definition, and what is possible here."""
    unit = written_units(kind)[0]
    possible = "" if between is None else f" from {between[0]:g} to {between[1]:g} {unit}"
    form = f"{kind} with date" if dated else kind.value
    return {"description": f"{kind}{possible}", "$ref": f"#/$defs/{form}"}


def _definitions() -> Schema:
    """Each kind of quantity, undated and dated."""
    plain = {kind.value: _definition(kind, {}) for kind in QuantityKind}
    dated = {f"{kind} with date": _definition(kind, {"date": _DAY}) for kind in QuantityKind}
    return plain | dated


def _definition(kind: QuantityKind, beside: Schema) -> Schema:
    """A number and its unit; a spelling that only the reader knows is not refused here."""
    units = list(written_units(kind))
    table = {
        "value": {"type": "number"},
        "unit": {"type": "string", "examples": units},
        **beside,
    }
    return {
        "description": f"a number and its unit: {', '.join(units)}",
        "anyOf": [{"type": "string", "pattern": _TYPED}, _object(table, ["value", "unit"])],
    }
