"""Whatever is altered in the file shows, and where."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from coilwright.record import chain, first_fault
from coilwright.store import RecordFault, check_record, examine_record, open_record
from store.drafts import START, draft
from store.places import FilePlace, Place


def filled(place: Place) -> None:
    """Six entries of the shelf and two of a case, all in the database itself."""
    with open_record(place.where, create=True) as store:
        store.append([draft(number) for number in range(6)])
        store.append([draft(number, stream="case-1") for number in (10, 11)])


@pytest.fixture
def file(tmp_path: Path) -> Path:
    filled(FilePlace(tmp_path / "site.record"))
    return tmp_path / "site.record"


@pytest.fixture
def bare(place: Place) -> Place:
    """The same on either database, with its guards taken off: what the unscrupulous can do."""
    filled(place)
    place.unguard()
    return place


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


def faults_of(place: Place) -> tuple[RecordFault, ...]:
    with open_record(place.where) as store:
        return check_record(store)


@pytest.mark.parametrize(
    "column", ["at", "recorded_at", "author", "kind", "payload", "previous_hash", "hash", "id"]
)
def test_any_altered_column_is_found(bare: Place, column: str) -> None:
    last = f"substr({column}, 1, length({column}) - 1) || 'x'"  # no column ends in x
    bare.run(f"UPDATE entry SET {column} = {last} WHERE stream = 'shelf' AND seq = 2")
    (fault,) = faults_of(bare)
    assert (fault.stream, fault.seq) == ("shelf", 2)


@pytest.mark.parametrize(("stream", "seq"), [("shelf", n) for n in range(6)] + [("case-1", 1)])
def test_a_flipped_figure_in_any_entry_is_found(bare: Place, stream: str, seq: int) -> None:
    bare.run(
        "UPDATE entry SET payload = replace(payload, 'LOT-0', 'LOT-1')"
        f" WHERE stream = '{stream}' AND seq = {seq}"
    )
    (fault,) = faults_of(bare)
    assert (fault.stream, fault.seq) == (stream, seq)
    assert fault.what == "it was altered after it was written"


def test_the_same_content_written_otherwise_is_found(bare: Place) -> None:
    bare.run("UPDATE entry SET payload = ' ' || payload WHERE stream = 'shelf' AND seq = 4")
    (fault,) = faults_of(bare)
    assert (fault.stream, fault.seq) == ("shelf", 4)


def test_a_removed_entry_is_found_in_the_middle_and_at_the_end(bare: Place) -> None:
    bare.run("DELETE FROM entry WHERE seq = 1")
    case, shelf = faults_of(bare)
    assert (case.stream, case.seq) == ("case-1", 1)
    assert case.what == "this entry and all after it are missing"
    assert (shelf.stream, shelf.seq) == ("shelf", 1)
    assert shelf.what == "an entry is missing or stands in the wrong place"


def test_a_stream_that_is_gone_is_found(bare: Place) -> None:
    bare.run("DELETE FROM entry WHERE stream = 'case-1'")
    (fault,) = faults_of(bare)
    assert (fault.stream, fault.seq, fault.id) == ("case-1", 0, None)


def test_an_entry_moved_to_another_stream_is_found_in_both(bare: Place) -> None:
    bare.run("UPDATE entry SET stream = 'case-2' WHERE stream = 'shelf' AND seq = 5")
    assert [(f.stream, f.seq) for f in faults_of(bare)] == [("case-2", 0), ("shelf", 5)]


def test_entries_of_the_store_are_chained_as_the_record_chains_them(bare: Place) -> None:
    with open_record(bare.where) as store:
        assert store.entries("shelf") == chain([draft(number) for number in range(6)])


def test_a_clock_set_back_is_kept_and_told_without_being_a_fault(place: Place) -> None:
    # By hand: recorded at 08:30:03, then 61 minutes earlier, which is 07:29:03.
    late = replace(draft(3), recorded_at=START + timedelta(seconds=3))
    early = replace(draft(4), recorded_at=late.recorded_at - timedelta(minutes=61))
    again = replace(draft(5), recorded_at=late.recorded_at - timedelta(minutes=30))
    with open_record(place.where, create=True) as store:
        store.append([late])
        store.append([early, again])
        check = examine_record(store)
        assert store.entries("shelf")[1].recorded_at.isoformat() == "2026-03-12T07:29:03+00:00"
    assert check.faults == ()
    (step,) = check.clock_steps
    assert (step.stream, step.seq, step.id) == ("shelf", 1, early.id)
    assert step.back == timedelta(hours=1, minutes=1)


def test_clocks_that_agree_to_a_minute_are_no_matter(place: Place) -> None:
    times = [timedelta(seconds=60), timedelta(0), timedelta(seconds=30)]
    entries = [replace(draft(n), recorded_at=START + t) for n, t in enumerate(times)]
    with open_record(place.where, create=True) as store:
        store.append(entries)
        assert examine_record(store).clock_steps == ()
