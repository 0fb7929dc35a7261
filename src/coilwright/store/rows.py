"""An entry as a row of the database, and back."""

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from sqlalchemy import RowMapping

from coilwright.record import Entry, canonical_json, entry_hash

Row = Mapping[str, Any] | RowMapping
CORRECTIONS = frozenset({"entry_corrected", "entry_withdrawn"})


class UnreadableRow(ValueError):
    """A row that no program of ours wrote as it stands."""


def row_of(entry: Entry) -> dict[str, Any]:
    """The row of a linked entry, in the very text that its hash covers.

    Raises
    ------
    ValueError
        The payload holds what JSON cannot, or a correction names no id.
    """
    return {
        "stream": entry.stream,
        "seq": entry.seq,
        "id": str(entry.id),
        "at": entry.at.astimezone(UTC).isoformat(),
        "recorded_at": entry.recorded_at.astimezone(UTC).isoformat(),
        "author": entry.author,
        "kind": entry.kind,
        "payload": canonical_json(entry.payload),
        "corrects": corrected_id(entry),
        "previous_hash": entry.previous_hash,
        "hash": entry.hash,
    }


def corrected_id(entry: Entry) -> str | None:
    """The id of the entry that this one corrects or withdraws; None where it does neither."""
    if entry.kind not in CORRECTIONS:
        return None
    return str(UUID(str(entry.payload.get("entry"))))


def entry_of(row: Row) -> Entry:
    """The entry of a row; its times are in UTC.

    Raises
    ------
    UnreadableRow
        It holds no entry.
    """
    try:
        return Entry(
            id=UUID(row["id"]),
            stream=row["stream"],
            seq=row["seq"],
            at=datetime.fromisoformat(row["at"]),
            recorded_at=datetime.fromisoformat(row["recorded_at"]),
            author=row["author"],
            kind=row["kind"],
            payload=json.loads(row["payload"]),
            previous_hash=row["previous_hash"],
            hash=row["hash"],
        )
    except (ValueError, TypeError, AttributeError, RecursionError) as error:
        raise UnreadableRow("a row cannot be read") from error


def exact_entry_of(row: Row) -> Entry:
    """The entry of a row that stands as it would be written: twice the time of ``entry_of``.

    Raises
    ------
    UnreadableRow
        It holds no entry, or the same one in another spelling.
    """
    entry = entry_of(row)
    try:
        same = row_of(entry) == dict(row)
    except (ValueError, TypeError, AttributeError, RecursionError) as error:
        raise UnreadableRow("a row cannot be written again") from error
    if not same:
        raise UnreadableRow("a row stands otherwise than it would be written")
    return entry


def storable_row(entry: Entry) -> dict[str, Any]:
    """The row of a linked entry that is sure to read back as the same entry.

    Raises
    ------
    ValueError
        A key is no text, a text holds a NUL or half a character, a number is NaN.
    """
    row = row_of(entry)
    if "\0" in entry.stream + entry.author + entry.kind:
        raise ValueError("an entry's texts hold no NUL")
    try:
        same = entry_hash(exact_entry_of(row)) == entry.hash
    except UnreadableRow:
        same = False
    if not same:
        raise ValueError("an entry's payload must read back from JSON as it was")
    return row
