"""Write docs/entries.md: every kind of entry of a case, its payload's fields, what it is for."""

import datetime as dt
import types
from collections.abc import Iterator
from dataclasses import MISSING, Field, fields, is_dataclass
from enum import Enum
from pathlib import Path
from typing import Any, Union, get_args, get_origin, get_type_hints
from uuid import UUID

from coilwright.record import CASE_KINDS, SCHEMES, EntryKind, KindChapter

ENTRIES_PAGE = Path(__file__).parents[1] / "docs" / "entries.md"
HEAD = """# Entries of a case

A case is what its entries add up to. Each entry has an `id`, a `stream` (the case), `at` (when it
happened), `recorded_at`, an `author`, a `kind` and a `payload`. These are the kinds, each with what
its payload holds; a field with `?` may be left out, and is null where nobody has said. A payload
with a field more, or one of another type, is refused.

Nothing is edited. `entry_corrected` states an entry's whole payload again, `entry_withdrawn` takes
it out; both name the last entry of that line by its id, and stay in the record with who, when and
why. Of some kinds each entry counts, of others the latest alone.

The four `device_…` kinds are the shelf's own facts. In the case's stream they tell what became of
every pack that was opened (sign-out), in the shelf's what lies there still; `shelf_twins` makes the
shelf's entries out of the case's.
Made by `scripts/entries.py`.
"""
_PLAIN: dict[Any, str] = {
    str: "text",
    float: "number",
    int: "whole number",
    bool: "yes or no",
    dt.date: "date",
    dt.datetime: "time with zone",
    UUID: "id of an entry",
    Path: "file name",
}


def entries_text() -> str:
    """The page: kinds by chapter, then the values that stand inside payloads, then the schemes."""
    inside: dict[type, None] = {}
    lines = [HEAD]
    for chapter in KindChapter:
        lines += [
            f"## {chapter}\n",
            "| kind | what it is for | counts | payload |",
            "|---|---|---|---|",
        ]
        for kind, row in CASE_KINDS.items():
            if row.chapter is chapter:
                lines.append(_kind_row(kind, row, inside))
        lines.append("")
    lines += ["## Values inside payloads\n", "| value | holds |", "|---|---|"]
    lines += sorted(_value_rows(inside))
    lines += ["", *_scheme_lines()]
    return "\n".join(lines)


def _kind_row(kind: str, row: EntryKind, inside: dict[type, None]) -> str:
    return f"| `{kind}` | {row.told} | {row.counting} | {_holds(row.shape, inside)} |"


def _value_rows(inside: dict[type, None]) -> Iterator[str]:
    """Rows of every value that a payload holds, those found on the way included."""
    done: set[type] = set()
    while waiting := [shape for shape in inside if shape not in done]:
        for shape in waiting:
            done.add(shape)
            if issubclass(shape, Enum):
                holds = ", ".join(f"`{one.value}`" for one in shape)
            else:
                holds = _holds(shape, inside)
            yield f"| {shape.__name__} | {holds} |"


def _holds(shape: type, inside: dict[type, None]) -> str:
    hints = get_type_hints(shape)
    told = [_field(field, hints[field.name], inside) for field in fields(shape)]
    return ", ".join(told)


def _field(field: "Field[Any]", hint: Any, inside: dict[type, None]) -> str:
    needed = field.default is MISSING and field.default_factory is MISSING
    return f"`{field.name}`{'' if needed else '?'} {_words(hint, inside)}"


def _words(hint: Any, inside: dict[type, None]) -> str:
    if hint in _PLAIN:
        return _PLAIN[hint]
    origin, args = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return " or ".join(_words(arg, inside) for arg in args if arg is not types.NoneType)
    if origin is tuple and args[-1] is Ellipsis:
        return f"list of {_words(args[0], inside)}"
    if origin is tuple:
        return f"({', '.join(_words(arg, inside) for arg in args)})"
    if origin is dict:
        return "payload of the corrected entry's kind"
    if not (is_dataclass(hint) or issubclass(hint, Enum)):
        raise TypeError(f"no words for {hint}")
    inside[hint] = None
    return str(hint.__name__)


def _scheme_lines() -> Iterator[str]:
    yield "## Grades of complications\n"
    yield "A grade that its scheme does not have is refused."
    yield ""
    for scheme, row in SCHEMES.items():
        yield f"### {row.name} (`{scheme}`)\n"
        yield f"{row.source}.\n"
        yield "| grade | stands for | status |"
        yield "|---|---|---|"
        for name, grade in row.grades.items():
            yield f"| `{name}` | {grade.meaning} | {grade.status} |"
        yield ""


def main() -> None:
    """Write the page."""
    ENTRIES_PAGE.write_text(entries_text(), encoding="utf-8")


if __name__ == "__main__":
    main()
