"""Whatever is altered in the file shows, and where."""

import sqlite3
from pathlib import Path

import pytest

from coilwright.record import chain, first_fault
from coilwright.store import check_record, open_record
from store.drafts import draft


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """Six entries of the shelf and two of a case, all in the file itself."""
    file = tmp_path / "site.record"
    with open_record(file, create=True) as store:
        store.append([draft(number) for number in range(6)])
        store.append([draft(number, stream="case-1") for number in (10, 11)])
    return file


def flip(file: Path, text: bytes, bit: int) -> None:
    """Flip one bit of the last byte of the one place where the text stands in the file."""
    content = bytearray(file.read_bytes())
    assert content.count(text) == 1
    content[content.index(text) + len(text) - 1] ^= 1 << bit
    file.write_bytes(bytes(content))


@pytest.mark.parametrize("bit", range(8))
def test_a_flipped_bit_of_a_payload_is_found(file: Path, bit: int) -> None:
    flip(file, b"LOT-000003", bit)
    with open_record(file) as store:
        (fault,) = check_record(store)
    assert (fault.stream, fault.seq) == ("shelf", 3)
    assert fault.what == "it was altered after it was written"


def test_a_flipped_figure_of_a_lot_breaks_the_chain_as_it_is_read(file: Path) -> None:
    flip(file, b"LOT-000003", 0)  # by hand: 3 is 0x33, so it reads 2
    with open_record(file) as store:
        read = store.entries("shelf")
    assert read[3].payload["lot"] == "LOT-000002"
    fault = first_fault(read)
    assert fault is not None
    assert fault.seq == 3


def rewritten(file: Path, act: str) -> None:
    """What somebody with the file and without scruples can do."""
    connection = sqlite3.connect(file)
    connection.execute("DROP TRIGGER entry_refuses_update")
    connection.execute("DROP TRIGGER entry_refuses_delete")
    connection.execute(act)
    connection.commit()
    connection.close()


@pytest.mark.parametrize(
    "column", ["at", "recorded_at", "author", "kind", "payload", "previous_hash", "hash", "id"]
)
def test_any_altered_column_is_found(file: Path, column: str) -> None:
    act = f"UPDATE entry SET {column} = {column} || '0' WHERE stream = 'shelf' AND seq = 2"
    rewritten(file, act)
    with open_record(file) as store:
        (fault,) = check_record(store)
    assert (fault.stream, fault.seq) == ("shelf", 2)


def test_the_same_content_written_otherwise_is_found(file: Path) -> None:
    rewritten(file, "UPDATE entry SET payload = ' ' || payload WHERE stream = 'shelf' AND seq = 4")
    with open_record(file) as store:
        (fault,) = check_record(store)
    assert (fault.stream, fault.seq) == ("shelf", 4)


def test_a_removed_entry_is_found_in_the_middle_and_at_the_end(file: Path) -> None:
    rewritten(file, "DELETE FROM entry WHERE seq = 1")
    with open_record(file) as store:
        case, shelf = check_record(store)
    assert (case.stream, case.seq) == ("case-1", 1)
    assert case.what == "this entry and all after it are missing"
    assert (shelf.stream, shelf.seq) == ("shelf", 1)
    assert shelf.what == "an entry is missing or stands in the wrong place"


def test_a_stream_that_is_gone_is_found(file: Path) -> None:
    rewritten(file, "DELETE FROM entry WHERE stream = 'case-1'")
    with open_record(file) as store:
        (fault,) = check_record(store)
    assert (fault.stream, fault.seq, fault.id) == ("case-1", 0, None)


def test_an_entry_moved_to_another_stream_is_found_in_both(file: Path) -> None:
    rewritten(file, "UPDATE entry SET stream = 'case-2' WHERE stream = 'shelf' AND seq = 5")
    with open_record(file) as store:
        assert [(f.stream, f.seq) for f in check_record(store)] == [("case-2", 0), ("shelf", 5)]


def test_entries_of_the_store_are_chained_as_the_record_chains_them(file: Path) -> None:
    with open_record(file) as store:
        assert store.entries("shelf") == chain([draft(number) for number in range(6)])
