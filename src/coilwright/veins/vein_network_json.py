"""The vein network (`coilwright.vein-network`, 1) as JSON, and back.

Everything that is wrong with a file is told at once, a sentence each: file, field, mend. Values
are not repeated, for an id may have been made of a name.
"""

import json
import math
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from coilwright.errors import FileProblem, InputError, Problem
from coilwright.veins.vein_network import (
    POSSIBLE_COST,
    POSSIBLE_MM,
    NetworkCatheter,
    NetworkPoint,
    NetworkVein,
    PointKind,
    VeinNetwork,
    repeated,
)

FORMAT = "coilwright.vein-network"
VERSION = 1
HEAD_KEYS = ("format", "version", "points", "veins", "catheter")
POINT_KEYS = ("id", "kind")
VEIN_KEYS = (
    "id", "from", "to", "length_mm", "diameter_mm", "diameter_sd_mm", "relaxed_diameter_mm",
    "may_occlude", "cost",
)  # fmt: skip
CATHETER_KEYS = ("enters_at", "outer_diameter_mm")
KINDS = ", ".join(f'"{kind.value}"' for kind in PointKind)
# An sd of 0 says that the calibre is exact: allowed, for a network may be made up.
POSSIBLE_SD_MM = (0.0, 1e4)
TOLD = 20

_ADAPTER = TypeAdapter(VeinNetwork)


class NetworkProblem(InputError):
    """A network file holds one or more things that cannot be used."""

    def __init__(self, file: Path, problems: Sequence[Problem]) -> None:
        self.file, self.problems = file, tuple(problems)
        super().__init__(file, self.problems)

    def __str__(self) -> str:
        name = self.file.name or self.file
        lines = [f"{name}: {problem}." for problem in self.problems[:TOLD]]
        if len(self.problems) > TOLD:
            lines.append(f"{name}: {len(self.problems) - TOLD} more; mend these first.")
        return "\n".join(lines)


def vein_network_to_json(network: VeinNetwork) -> str:
    """The network as a JSON document; numbers are finite or null."""
    document = {"format": FORMAT, "version": VERSION}
    document |= _ADAPTER.dump_python(network, mode="json", by_alias=True)
    return json.dumps(document, allow_nan=False, ensure_ascii=False, indent=1) + "\n"


def vein_network_from_json(text: str, file: Path) -> VeinNetwork:
    """The network in a JSON document; ``file`` is only named in errors.

    Raises
    ------
    FileProblem
        Not JSON, another format, or an unknown version.
    NetworkProblem
        Anything else that is wrong, all of it.
    """
    document = _document(text, file)
    found = _Problems()
    found.keys("", document, HEAD_KEYS, required=HEAD_KEYS)
    points = [_point(found, f"points[{i}]", item) for i, item in found.items(document, "points")]
    veins = [_vein(found, f"veins[{i}]", item) for i, item in found.items(document, "veins")]
    catheter = _catheter(found, document["catheter"]) if "catheter" in document else None
    _check_references(found, document)
    if found.problems or catheter is None:
        raise NetworkProblem(file, found.problems)
    return VeinNetwork(
        points=tuple(point for point in points if point is not None),
        veins=tuple(vein for vein in veins if vein is not None),
        catheter=catheter,
    )


class _Problems:
    """Reads fields and collects what is wrong with them; a field that is wrong reads as None."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def add(self, field: str, found: str, mend: str) -> None:
        self.problems.append(Problem(field=field, found=found, mend=mend))

    def keys(
        self, path: str, table: dict[str, Any], known: Sequence[str], required: Iterable[str]
    ) -> None:
        """Tell keys that are missing, unknown or written twice."""
        inside = f"{path}." if path else ""
        for key in table.get(_TWICE, ()):
            self.add(inside + _shown(key), "written twice", "leave one of them out")
        for key in table:
            if key not in known and key != _TWICE:
                self.add(inside + _shown(key), "unknown key", f"use one of {', '.join(known)}")
        for key in required:
            if key not in table:
                self.add(inside + key, "missing", "add it")

    def items(self, document: dict[str, Any], key: str) -> list[tuple[int, Any]]:
        """The items of a list with their places; none where it is no list."""
        value = document.get(key, [])
        if not isinstance(value, list):
            self.add(key, "not a list", f"write the {key} in square brackets")
            return []
        return list(enumerate(value))

    def table(self, path: str, value: object, known: Sequence[str], optional: set[str]) -> Any:
        """The object at ``path`` with its keys checked, or None."""
        if not isinstance(value, dict):
            self.add(path, "not an object", f"write {{...}} with {', '.join(known)}")
            return None
        self.keys(path, value, known, [key for key in known if key not in optional])
        return value

    def text(self, path: str, table: dict[str, Any], key: str) -> str | None:
        value = table.get(key)
        if key not in table:
            return None
        if not isinstance(value, str) or not value.strip():
            self.add(f"{path}.{key}", "not a text", "write it in quotation marks, not empty")
            return None
        if any("\ud800" <= character <= "\udfff" for character in value):
            self.add(f"{path}.{key}", "half a character", "write the whole of it, or leave it out")
            return None
        return value

    def number(
        self, path: str, table: dict[str, Any], key: str, between: tuple[float, float]
    ) -> float | None:
        """A finite number within ``between``, both bounds included."""
        value = table.get(key)
        if key not in table:
            return None
        low, high = between
        rule = f"from {low:g} to {high:g}"
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.add(f"{path}.{key}", "not a number", f"write a number {rule}")
        elif isinstance(value, float) and not math.isfinite(value):
            self.add(f"{path}.{key}", "not a finite number", f"write a number {rule}")
        elif not low <= value <= high:
            sign = "above 0" if low > 0 else "0 or more"
            found = f"not {sign}" if value <= 0 else "out of range"
            self.add(f"{path}.{key}", found, f"write a number {rule}")
        else:
            return float(value)
        return None


def _point(found: _Problems, path: str, item: object) -> NetworkPoint | None:
    table = found.table(path, item, POINT_KEYS, set())
    if table is None:
        return None
    point_id, kind = found.text(path, table, "id"), table.get("kind")
    if "kind" in table and kind not in list(PointKind):
        found.add(f"{path}.kind", "not possible", f"write one of {KINDS}")
        return None
    return NetworkPoint(id=point_id, kind=PointKind(kind)) if point_id and kind else None


def _vein(found: _Problems, path: str, item: object) -> NetworkVein | None:
    table = found.table(path, item, VEIN_KEYS, {"relaxed_diameter_mm", "cost"})
    if table is None:
        return None
    before = len(found.problems)
    texts = [found.text(path, table, key) for key in ("id", "from", "to")]
    relaxed_mm = None
    # Null is how the published documents write "unknown".
    if table.get("relaxed_diameter_mm") is not None:
        relaxed_mm = found.number(path, table, "relaxed_diameter_mm", POSSIBLE_MM)
    numbers = [found.number(path, table, k, POSSIBLE_MM) for k in ("length_mm", "diameter_mm")]
    sd_mm = found.number(path, table, "diameter_sd_mm", POSSIBLE_SD_MM)
    cost = found.number(path, {"cost": 1} | table, "cost", POSSIBLE_COST)
    may_occlude = table.get("may_occlude")
    if "may_occlude" in table and not isinstance(may_occlude, bool):
        found.add(f"{path}.may_occlude", "neither true nor false", "write true or false")
    if texts[1] is not None and texts[1] == texts[2]:
        mend = "name another point in from or to, or leave the vein out"
        found.add(f"{path}.to", "the same point as from", mend)
    if len(found.problems) > before or None in (*texts, *numbers, sd_mm, may_occlude):
        return None
    return NetworkVein(
        id=texts[0] or "", from_point=texts[1] or "", to_point=texts[2] or "",
        length_mm=numbers[0] or 0.0, diameter_mm=numbers[1] or 0.0, diameter_sd_mm=sd_mm or 0.0,
        relaxed_diameter_mm=relaxed_mm, may_occlude=bool(may_occlude), cost=cost or 0.0,
    )  # fmt: skip


def _catheter(found: _Problems, value: object) -> NetworkCatheter | None:
    table = found.table("catheter", value, CATHETER_KEYS, set())
    if table is None:
        return None
    enters_at = found.text("catheter", table, "enters_at")
    outer_mm = found.number("catheter", table, "outer_diameter_mm", POSSIBLE_MM)
    if enters_at is None or outer_mm is None:
        return None
    return NetworkCatheter(enters_at=enters_at, outer_diameter_mm=outer_mm)


def _check_references(found: _Problems, document: dict[str, Any]) -> None:
    """Ids that stand twice, points that are not there, and a way in and out for the blood.

    A network without inflow or outflow is refused: its answer would be "nothing to close", which
    is what a safe network gets too, and it mostly means that somebody has not marked them yet.
    """
    points = _tables(document.get("points"))
    known = {p["id"] for _, p in points if isinstance(p.get("id"), str)}
    for name, tables in (("points", points), ("veins", _tables(document.get("veins")))):
        _check_repeated(found, name, tables)
    for place, vein in _tables(document.get("veins")):
        for key in ("from", "to"):
            _check_known(found, f"veins[{place}].{key}", vein.get(key), known)
    catheter = document.get("catheter")
    if isinstance(catheter, dict):
        _check_known(found, "catheter.enters_at", catheter.get("enters_at"), known)
    if not isinstance(document.get("points"), list):
        return
    for kind, what in ((PointKind.INFLOW, "blood enters"), (PointKind.OUTFLOW, "it must not go")):
        if not any(p.get("kind") == kind for _, p in points):
            mend = f'give the kind "{kind}" to the point where {what}'
            found.add("points", f"no {kind} among them", mend)


def _check_repeated(
    found: _Problems, name: str, tables: Sequence[tuple[int, dict[str, Any]]]
) -> None:
    ids = [(place, t["id"]) for place, t in tables if isinstance(t.get("id"), str)]
    twice = repeated(one for _, one in ids)
    first: dict[str, int] = {}
    for place, one in ids:
        if one in twice and one in first:
            where = f"{name}[{place}].id"
            found.add(where, f"the same as {name}[{first[one]}].id", "give it an id of its own")
        first.setdefault(one, place)


def _check_known(found: _Problems, field: str, value: object, known: set[str]) -> None:
    if isinstance(value, str) and value.strip() and value not in known:
        found.add(field, "no point has this id", "name one of the points, or add it to points")


def _tables(value: object) -> list[tuple[int, dict[str, Any]]]:
    items = value if isinstance(value, list) else []
    return [(place, item) for place, item in enumerate(items) if isinstance(item, dict)]


def _document(text: str, file: Path) -> dict[str, Any]:
    """The object in the text, its format and version checked."""
    try:
        document = json.loads(text, object_pairs_hook=_pairs)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        raise _problem(file, where, "not JSON", "mend the line") from error
    except (ValueError, RecursionError) as error:
        # A number of thousands of digits, or nesting without end.
        mend = "shorten the number or the nesting"
        raise _problem(file, "file", "not readable as JSON", mend) from error
    if not isinstance(document, dict):
        raise _problem(file, "file", "not an object", "write {...} with points and veins")
    if document.get("format") != FORMAT:
        mend = f'give a file whose format is "{FORMAT}"'
        raise _problem(file, "format", "not a vein network", mend)
    version = document.get("version")
    if isinstance(version, bool) or not isinstance(version, int) or version != VERSION:
        found = "not known here" if "version" in document else "missing"
        raise _problem(file, "version", found, f"this program reads version {VERSION}")
    return document


# Stands in an object for the keys that were written twice in it; no key of a file is not a text.
_TWICE: Any = object()


def _pairs(pairs: list[tuple[str, Any]]) -> dict[Any, Any]:
    table: dict[Any, Any] = dict(pairs)
    twice = repeated(key for key, _ in pairs)
    return table | {_TWICE: sorted(twice)} if twice else table


def _shown(key: str) -> str:
    """A key of the file, short and on one line."""
    return " ".join("".join(c if c.isprintable() else " " for c in key).split())[:40] or "(empty)"


def _problem(file: Path, field: str, found: str, mend: str) -> FileProblem:
    return FileProblem(file, Problem(field=field, found=found, mend=mend))
