"""A backup is whole, proven and makes the same record again, on either database."""

import hashlib
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest

from coilwright.store import (
    AlreadyThere,
    DamagedBackup,
    DamagedRecord,
    NotABackup,
    NotARecord,
    UnreachableRecord,
    backup_record,
    check_record,
    examine_record,
    open_record,
    restore_record,
)
from store.drafts import draft
from store.loading import told, writer
from store.places import FilePlace, Place, ServerPlace

MADE_AT = datetime(2026, 3, 12, 18, 0, tzinfo=UTC)


@pytest.fixture
def full(place: Place) -> Place:
    """Six entries of the shelf, one of them a withdrawal, and two of a case."""
    with open_record(place.where, create=True) as store:
        store.append([draft(number) for number in range(5)])
        store.append([draft(5, kind="entry_withdrawn", entry=str(draft(2).id), why="typed twice")])
        store.append([draft(number, stream="case-1", name="Ä µ 管") for number in (10, 11)])
    return place


@pytest.fixture
def backup(full: Place, tmp_path: Path) -> Path:
    file = tmp_path / "site.backup"
    with open_record(full.where) as store:
        backup_record(store, file, made_at=MADE_AT)
    return file


def test_a_restored_record_is_the_same_and_goes_on(full: Place, backup: Path) -> None:
    new = backup.with_name("new.record")
    manifest = restore_record(backup, new)
    with open_record(full.where) as old, open_record(new) as store:
        assert store.streams() == old.streams() == manifest.heads
        for stream in ("shelf", "case-1"):
            assert store.entries(stream) == old.entries(stream)
        assert check_record(store) == ()
        assert store.append([draft(6)])[0].seq == 6
    assert manifest.made_at == MADE_AT
    assert manifest.entries == 8


def test_a_backup_of_a_file_makes_the_same_record_on_a_server_and_back(
    server_place: ServerPlace, tmp_path: Path
) -> None:
    first = FilePlace(tmp_path / "site.record")
    with open_record(first.where, create=True) as store:
        store.append([draft(1), draft(2, name="Ä µ 管"), draft(3, stream="case-1")])
        one = backup_record(store, tmp_path / "one.backup", made_at=MADE_AT)
    restore_record(tmp_path / "one.backup", server_place.where)
    with open_record(server_place.where) as store:
        assert check_record(store) == ()
        two = backup_record(store, tmp_path / "two.backup", made_at=MADE_AT)
    assert one == two


def test_a_backup_taken_under_load_is_of_one_moment_and_restores_clean(
    place: Place, tmp_path: Path
) -> None:
    open_record(place.where, create=True).close()
    programs = [writer(place.where, first, 3, 100_000) for first in range(3)]
    try:
        before = [number for program in programs for number in told(program, 10)]
        with open_record(place.where) as store:
            manifest = backup_record(store, tmp_path / "busy.backup", made_at=MADE_AT)
        after = [number for program in programs for number in told(program, 10)]
    finally:
        for program in programs:
            program.kill()
            program.communicate(timeout=60)
    restore_record(tmp_path / "busy.backup", tmp_path / "new.record")
    with open_record(tmp_path / "new.record") as store, open_record(place.where) as going_on:
        assert check_record(store) == ()
        kept = store.entries("shelf")
        whole = going_on.entries("shelf")
    numbers = [entry.payload["number"] for entry in kept]
    assert set(before) <= set(numbers)
    assert len(set(numbers)) == len(numbers) == manifest.entries
    assert whole[: len(kept)] == kept
    assert len(whole) > len(kept)  # others went on writing
    assert set(after) <= {entry.payload["number"] for entry in whole}


def test_the_manifests_digest_follows_from_the_stored_heads_alone(
    full: Place, backup: Path
) -> None:
    # Recomputed past the program: SHA-256 over the spaceless JSON that SQLite makes itself.
    connection = sqlite3.connect(backup)
    (text,) = connection.execute(
        "SELECT json_group_array(json_array(stream, entries, head_hash))"
        " FROM (SELECT * FROM stream_head ORDER BY stream)"
    ).fetchone()
    (stored,) = connection.execute("SELECT manifest_sha256 FROM backup").fetchone()
    connection.close()
    assert stored == hashlib.sha256(text.encode()).hexdigest()
    counts = full.run("SELECT stream, count(*) FROM entry GROUP BY stream ORDER BY stream")
    assert counts == [("case-1", 2), ("shelf", 6)]


def test_a_backup_is_for_its_owner_alone_and_one_file(backup: Path) -> None:
    assert backup.stat().st_mode & 0o777 == 0o600
    beside = {path.name for path in backup.parent.iterdir()}
    assert {name for name in beside if "backup" in name} == {"site.backup"}
    content = backup.read_bytes()
    restore_record(backup, backup.with_name("new.record"))
    assert backup.read_bytes() == content


def test_neither_a_backup_nor_a_record_ever_takes_the_place_of_something(
    full: Place, backup: Path
) -> None:
    content = backup.read_bytes()
    with (
        open_record(full.where) as store,
        pytest.raises(AlreadyThere, match=r"^site\.backup: place: something is there already;"),
    ):
        backup_record(store, backup, made_at=MADE_AT)
    with pytest.raises(AlreadyThere, match=r"there already|holds a record already"):
        restore_record(backup, full.where)
    assert backup.read_bytes() == content
    with open_record(full.where) as store:
        assert len(store.entries("shelf")) == 6


def test_a_broken_record_makes_no_backup(full: Place, tmp_path: Path) -> None:
    full.unguard()
    full.run("UPDATE entry SET author = 'nobody' WHERE seq = 1 AND stream = 'shelf'")
    before = sorted(tmp_path.iterdir())
    with (
        open_record(full.where) as store,
        pytest.raises(DamagedRecord, match="broken in 1 place; no backup was made; check the"),
    ):
        backup_record(store, tmp_path / "site.backup", made_at=MADE_AT)
    assert sorted(tmp_path.iterdir()) == before


def altered(backup: Path, act: str) -> None:
    connection = sqlite3.connect(backup)
    for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'"):
        connection.execute(f"DROP TRIGGER {name}")
    connection.execute(act)
    connection.commit()
    connection.close()


@pytest.mark.parametrize(
    "act",
    [
        "UPDATE entry SET author = 'nobody' WHERE seq = 1",
        "DELETE FROM entry WHERE seq = 5",
        "DELETE FROM stream_head WHERE stream = 'case-1'",
        "UPDATE backup SET manifest_sha256 = 'x'",
        "UPDATE backup SET made_at = 'x'",
        "DELETE FROM backup",
    ],
)
def test_an_altered_backup_is_refused_and_nothing_is_restored(backup: Path, act: str) -> None:
    altered(backup, act)
    with pytest.raises(DamagedBackup, match=r"^site\.backup: backup: .*use another backup"):
        restore_record(backup, backup.with_name("new.record"))
    assert not backup.with_name("new.record").exists()


def test_a_backup_with_overwritten_pages_is_refused(backup: Path) -> None:
    content = bytearray(backup.read_bytes())
    content[4096:] = b"\xff" * (len(content) - 4096)
    backup.write_bytes(bytes(content))
    with pytest.raises(DamagedBackup, match="it cannot be read; use another backup"):
        restore_record(backup, backup.with_name("new.record"))


def test_a_backup_of_a_newer_version_is_refused(backup: Path) -> None:
    altered(backup, "UPDATE backup SET version = 2")
    with pytest.raises(NotABackup, match="version 2, known here is 1"):
        restore_record(backup, backup.with_name("new.record"))


def test_what_is_no_backup_is_refused(tmp_path: Path, backup: Path) -> None:
    (tmp_path / "notes.txt").write_text("none" * 100, encoding="utf-8")
    open_record(tmp_path / "other.record", create=True).close()
    for name, sentence in [
        ("notes.txt", "not a backup; name a file that coilwright backup wrote"),
        ("other.record", "not a backup"),
        ("nowhere", "no such file or directory"),
    ]:
        with pytest.raises(NotABackup, match=rf"^{name}: backup: {sentence}"):
            restore_record(tmp_path / name, tmp_path / "new.record")
    with pytest.raises(NotARecord, match="a backup, which is restored before it is used"):
        open_record(backup)


def test_a_place_that_cannot_be_written_to_is_told(full: Place, backup: Path) -> None:
    with pytest.raises(UnreachableRecord, match=r"new\.record: .*no such file or directory"):
        restore_record(backup, backup.parent / "nowhere" / "new.record")
    with (
        open_record(full.where) as store,
        pytest.raises(UnreachableRecord, match=r"new\.backup: .*no such file or directory"),
    ):
        backup_record(store, backup.parent / "nowhere" / "new.backup", made_at=MADE_AT)


def test_a_cut_tail_and_a_rewritten_chain_show_beside_the_backup(full: Place, backup: Path) -> None:
    full.unguard()
    # A tail cut with its head, so that the record itself holds together.
    full.run("DELETE FROM entry WHERE stream = 'case-1' AND seq = 1")
    hash_before = "(SELECT hash FROM entry WHERE stream = 'case-1' AND seq = 0)"
    full.run(
        f"UPDATE stream_head SET entries = 1, head_hash = {hash_before} WHERE stream = 'case-1'"
    )
    with open_record(full.where) as store:
        assert check_record(store) == ()
        (fault,) = examine_record(store, backup=backup).faults
    assert (fault.stream, fault.seq, fault.id) == ("case-1", 1, draft(11).id)
    assert fault.what == "the backup holds this entry, the record does not"


def test_a_record_rewritten_from_an_entry_on_shows_beside_the_backup(
    backup: Path, tmp_path: Path
) -> None:
    # Somebody writes the whole record anew, with another author from the fourth entry on.
    with open_record(tmp_path / "forged.record", create=True) as store:
        store.append([draft(number) for number in range(3)])
        store.append([draft(number, lot="LOT-X") for number in (3, 4, 6, 7)])
        store.append([draft(number, stream="case-1", name="Ä µ 管") for number in (10, 11)])
        assert check_record(store) == ()
        (fault,) = examine_record(store, backup=backup).faults
    assert (fault.stream, fault.seq, fault.id) == ("shelf", 3, draft(3).id)
    assert fault.what == "it is not the entry that the backup holds"


def test_entries_written_since_the_backup_are_no_fault(full: Place, backup: Path) -> None:
    with open_record(full.where) as store:
        store.append([draft(20), draft(21, stream="case-2")])
        check = examine_record(store, backup=backup)
    assert (check.faults, check.streams, check.entries) == ((), 3, 10)


def test_a_missing_last_entry_is_named_by_the_id_that_the_backup_knows(
    full: Place, backup: Path
) -> None:
    full.unguard()
    full.run("DELETE FROM entry WHERE stream = 'shelf' AND seq = 5")
    with open_record(full.where) as store:
        (fault,) = examine_record(store, backup=backup).faults
    assert (fault.seq, fault.id) == (5, draft(5).id)
    assert fault.what == "this entry and all after it are missing"
