"""Invented drafts for the tests of the record's database."""

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

from coilwright.record import Entry

START = datetime(2026, 3, 12, 8, 30, tzinfo=UTC)


def draft(
    number: int, /, *, stream: str = "shelf", kind: str = "device_received", **payload: Any
) -> Entry:
    """The draft of that number: its id and its times follow from the number alone."""
    return Entry(
        id=UUID(int=number),
        stream=stream,
        seq=0,
        at=START + timedelta(seconds=number),
        recorded_at=START + timedelta(seconds=number, microseconds=5),
        author="scribe",
        kind=kind,
        payload=payload or {"number": number, "lot": f"LOT-{number:06d}"},
    )
