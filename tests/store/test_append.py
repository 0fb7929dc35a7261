"""What is appended is there as it was, once, in order, or not at all."""

import hashlib
import json
import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta, timezone
from typing import Any
from uuid import UUID

import psycopg
import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import create_engine

from coilwright.record import Entry, first_fault
from coilwright.store import (
    CorrectionConflict,
    EntryConflict,
    RecordStore,
    UnknownEntry,
    check_record,
    open_record,
)
from coilwright.store.tables import METADATA
from store.drafts import START, draft
from store.places import Place, ServerPlace

# What each database itself says to somebody past the program.
REFUSED = (sqlite3.IntegrityError, psycopg.errors.UniqueViolation, psycopg.errors.RaiseException)


@pytest.fixture
def store(place: Place) -> Iterator[RecordStore]:
    with open_record(place.where, create=True) as opened:
        yield opened


def test_entries_are_read_back_after_reopening_as_they_were_acknowledged(
    store: RecordStore, place: Place
) -> None:
    payload: dict[str, Any] = {
        "name": "Ä µ 管",
        "n": [1, 2.5, None, True],
        "deep": {"b": -0.0, "a": "\u0000"},
    }
    written = store.append([draft(1), draft(2, **payload), draft(3, stream="case-1")])
    store.close()
    with open_record(place.where) as again:
        assert again.entries("shelf") + again.entries("case-1") == written
        assert again.entries("nobody") == ()
    assert [entry.seq for entry in written] == [0, 1, 0]
    assert written[1].payload == payload


def test_the_hashes_in_the_file_follow_from_its_text_alone(
    store: RecordStore, place: Place
) -> None:
    # Recomputed from the raw columns by DESIGN's description: SHA-256 over sorted, spaceless JSON.
    store.append([draft(1), draft(2)])
    store.append([draft(3)])
    rows = place.run(
        "SELECT id, stream, seq, at, recorded_at, author, kind, payload, previous_hash, hash"
        " FROM entry ORDER BY seq"
    )
    before = "0" * 64
    names = ("id", "stream", "seq", "at", "recorded_at", "author", "kind", "payload")
    for *values, previous_hash, own_hash in rows:
        content = dict(zip(names, values, strict=True)) | {"previous_hash": previous_hash}
        content["payload"] = json.loads(content["payload"])
        text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        assert previous_hash == before
        assert own_hash == hashlib.sha256(text.encode()).hexdigest()
        before = own_hash


def test_times_of_another_zone_come_back_as_the_same_moment_in_utc(store: RecordStore) -> None:
    # By hand: 10:30 at +02:00 is 08:30 UTC.
    local = START.replace(hour=10, tzinfo=timezone(timedelta(hours=2)))
    store.append([replace(draft(1), at=local)])
    (entry,) = store.entries("shelf")
    assert entry.at.isoformat() == "2026-03-12T08:30:00+00:00"


def test_streams_tell_their_counts_and_heads(store: RecordStore) -> None:
    written = store.append([draft(1), draft(2, stream="case-1"), draft(3)])
    heads = {head.stream: (head.entries, head.head_hash) for head in store.streams()}
    assert heads == {"case-1": (1, written[1].hash), "shelf": (2, written[2].hash)}


def test_an_entry_sent_twice_is_the_same_entry(store: RecordStore) -> None:
    (first,) = store.append([draft(1)])
    later = replace(draft(1), recorded_at=START + timedelta(hours=1))
    again, new, new_again = store.append([later, draft(2), draft(2)])
    assert again == first
    assert new == new_again
    assert store.entries("shelf") == (first, new)


@pytest.mark.parametrize(
    "other",
    [
        draft(1, number=2),
        draft(1, stream="case-1"),
        draft(1, kind="device_wasted"),
        replace(draft(1), author="operator"),
        replace(draft(1), at=START),
    ],
    ids=["payload", "stream", "kind", "author", "at"],
)
def test_an_id_with_another_content_is_refused_and_nothing_of_the_batch_stays(
    store: RecordStore, place: Place, other: Entry
) -> None:
    store.append([draft(1)])
    before = store.entries("shelf")
    with pytest.raises(EntryConflict, match=rf"{place.name}: id: .* is there already with another"):
        store.append([draft(7), other])
    assert store.entries("shelf") == before


def test_a_payload_that_json_would_change_is_refused(store: RecordStore) -> None:
    with pytest.raises(ValueError, match="read back from JSON"):
        store.append([draft(1), draft(2, counts={10: "a", 9: "b"})])
    with pytest.raises(ValueError, match="not JSON compliant"):
        store.append([draft(1), draft(2, mm=float("nan"))])
    assert store.entries("shelf") == ()


def withdrawal(number: int, of: int, stream: str = "shelf", kind: str = "entry_withdrawn") -> Entry:
    return draft(number, stream=stream, kind=kind, entry=str(UUID(int=of)), why="typed twice")


def test_a_second_correction_of_an_entry_is_a_conflict(store: RecordStore) -> None:
    store.append([draft(1), withdrawal(2, of=1)])
    store.append([withdrawal(2, of=1)])  # sent twice: the same entry
    with pytest.raises(CorrectionConflict, match="corrected or withdrawn already"):
        store.append([withdrawal(3, of=1, kind="entry_corrected")])
    store.append([withdrawal(4, of=2)])  # a correction may be corrected
    with pytest.raises(CorrectionConflict, match="corrected or withdrawn already"):
        store.append([draft(5), withdrawal(6, of=5), withdrawal(7, of=5)])
    assert len(store.entries("shelf")) == 3


def test_a_correction_names_an_entry_of_its_own_stream(store: RecordStore) -> None:
    store.append([draft(1)])
    for wrong in (withdrawal(2, of=9), withdrawal(2, of=1, stream="case-1"), withdrawal(2, of=2)):
        with pytest.raises(UnknownEntry, match="the stream holds no entry"):
            store.append([wrong])


def test_the_database_itself_refuses_a_second_correction(store: RecordStore, place: Place) -> None:
    store.append([draft(1), withdrawal(2, of=1)])
    with pytest.raises(REFUSED, match=r"(?i)unique constraint .*corrects"):
        place.run(
            "INSERT INTO entry SELECT stream, 9, 'x', at, recorded_at, author, kind, payload,"
            " corrects, previous_hash, hash FROM entry WHERE corrects IS NOT NULL"
        )


@pytest.mark.parametrize("act", ["UPDATE entry SET author = 'nobody'", "DELETE FROM entry"])
def test_the_database_itself_refuses_to_alter_entries(
    store: RecordStore, place: Place, act: str
) -> None:
    (written,) = store.append([draft(1)])
    with pytest.raises(REFUSED, match="entry is append-only"):
        place.run(act)
    assert store.entries("shelf") == (written,)


def test_a_server_refuses_to_empty_the_table_and_to_write_over_an_entry(
    server_place: ServerPlace,
) -> None:
    with open_record(server_place.where, create=True) as store:
        store.append([draft(1)])
        for act in (
            "TRUNCATE entry",
            "INSERT INTO entry SELECT * FROM entry ON CONFLICT (id) DO UPDATE SET author = 'x'",
        ):
            with pytest.raises(psycopg.errors.RaiseException, match="entry is append-only"):
                server_place.run(act)


def test_five_thousand_entries_are_kept_whole(store: RecordStore) -> None:
    written = store.append([draft(number) for number in range(5000)])
    read = store.entries("shelf")
    assert read == written
    assert [entry.payload["number"] for entry in read] == list(range(5000))
    assert first_fault(read) is None
    assert check_record(store) == ()


@pytest.mark.usefixtures("store")
def test_the_migrations_make_the_tables_that_the_queries_use(place: Place) -> None:
    url = place.where if isinstance(place.where, str) else f"sqlite:///{place.where}"
    engine = create_engine(url)
    with engine.connect() as connection:
        context = MigrationContext.configure(connection)
        assert compare_metadata(context, METADATA) == []
    engine.dispose()
