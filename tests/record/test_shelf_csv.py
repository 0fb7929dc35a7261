"""The shelf as a CSV, out and in: docs/shelf-csv.md holds what it says."""

import datetime as dt
import re
from pathlib import Path

import pytest
from hypothesis import given

from coilwright.errors import FileProblem
from coilwright.record.entry import Entry
from coilwright.record.shelf_csv import SHELF_COLUMNS, packs_from_csv, shelf_to_csv
from coilwright.record.shelf_facts import DeviceOpened, DeviceReceived
from coilwright.record.shelf_fold import fold_shelf
from coilwright.record.shelf_pack import Pack
from record.shelf_entries import BATCH, UNDATED, recorded, streams

DOC = (Path(__file__).parents[2] / "docs" / "shelf-csv.md").read_text(encoding="utf-8")
FILE = Path("delivery.csv")
HEAD = "di,lot,serial,expiry,count\n"
ROW = "00400000000107,L1,,2027-03-31,2\n"


def test_the_documents_example_gives_the_packs_that_it_shows() -> None:
    example = re.search(r"```csv\n(.*?)```", DOC, re.DOTALL)
    assert example is not None
    assert packs_from_csv(example[1], FILE) == (
        (Pack(di="00400000000107", lot="ND26B014", expiry=dt.date(2028, 8, 31)), 6),
        (Pack(di="00400000000206"), 4),
        (
            Pack(di="00400000000305", lot="ND26A051", serial="000017", expiry=dt.date(2028, 5, 31)),
            1,
        ),
    )


def test_every_column_is_on_the_page() -> None:
    assert len(SHELF_COLUMNS) == 5
    for column in SHELF_COLUMNS:
        assert f"`{column}`" in DOC, column


def test_a_shelf_is_written_line_by_line_as_here() -> None:
    shelf = fold_shelf(
        recorded(
            DeviceReceived(pack=BATCH, count=2),
            DeviceReceived(pack=UNDATED, count=1),
            DeviceOpened(pack=Pack(di="00400000000305"), count=1, case="case-1"),
        )
    )
    assert shelf_to_csv(shelf) == HEAD + ROW + "00400000000206,L1,,,1\n"


@given(streams())
def test_what_goes_out_comes_in_as_the_same_packs(entries: tuple[Entry, ...]) -> None:
    shelf = fold_shelf(entries)
    on_shelf = tuple((batch.pack, batch.on_shelf) for batch in shelf.batches if batch.on_shelf)
    text = shelf_to_csv(shelf)
    if on_shelf:
        assert packs_from_csv(text, FILE) == on_shelf
    else:
        assert text == HEAD


def test_a_lot_with_a_comma_and_quotes_goes_out_and_in() -> None:
    pack = Pack(di="00400000000107", lot='A,"1"')
    text = shelf_to_csv(fold_shelf(recorded(DeviceReceived(pack=pack, count=1))))
    assert packs_from_csv(text, FILE) == ((pack, 1),)


def test_an_editors_mark_windows_line_ends_and_another_order_are_read_alike() -> None:
    marked = "\ufeffcount,di,expiry,serial,lot\r\n2,00400000000107,2027-03-31,,L1\r\n\r\n"
    assert packs_from_csv(marked, FILE) == packs_from_csv(HEAD + ROW, FILE) == ((BATCH, 2),)


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("serial", "serial_no", "line 1, column serial_no: unknown column; use di, lot, serial"),
        ("serial", "lot", "line 1, column lot: stands twice; keep one"),
        (
            "di,lot,serial,expiry,count",
            "di,lot,expiry,count",
            "line 1, column serial: missing; add",
        ),
        ("di,", ",", r"line 1, column \(no name\): unknown column"),
        (",", ";", "line 1: no commas between the columns; save it with commas"),
        (",2\n", ",2.0\n", "line 2, column count: '2.0' cannot be used; give a whole number"),
        (",2\n", ",0\n", "line 2, column count: 0 is not possible; give a whole number from 1"),
        (",2\n", ",-1\n", "line 2, column count: -1 is not possible"),
        (",2\n", ",\n", "line 2, column count: empty; give a whole number of packs"),
        (",2\n", ",²\n", "line 2, column count: '²' cannot be used"),
        (",2\n", ",400000000107\n", "line 2, column count: .* from 1 to 9999"),
        ("2027-03-31", "31.03.2027", "line 2, column expiry: .* the last day of use such as"),
        ("2027-03-31", "2027-02-30", "line 2, column expiry: '2027-02-30' cannot be used"),
        ("2027-03-31", "20270331", "line 2, column expiry: '20270331' cannot be used"),
        ("L1,,", "L1,S1,", "line 2, column count: 2 packs with one serial number; enter each"),
        ("00400000000107", "00400000000108", "line 2, column di: .* is no device identifier"),
        ("00400000000107", "400000000107", "line 2, column di: .*00400000000107: the zeros in"),
        ("00400000000107", "", "line 2, column di: '' is no device identifier"),
        ("L1,", "L1,L2,", "line 2: 6 cells under 5 columns"),
        ("L1,", '"L1,', r"line 2: no CSV \("),
        (ROW, "", "line 2: no pack; write one batch a line"),
        (ROW, ROW + "\n" + ROW, "line 4: .*lot L1.* stands in line 2 too; write it once"),
    ],
)
def test_what_cannot_be_used_is_named_with_file_line_column_and_mend(
    old: str, new: str, sentence: str
) -> None:
    text = (HEAD + ROW).replace(old, new)
    assert text != HEAD + ROW
    with pytest.raises(FileProblem, match=f"^delivery.csv: {sentence}"):
        packs_from_csv(text, FILE)


def test_an_empty_file_is_refused() -> None:
    with pytest.raises(FileProblem, match="line 1, column di: missing; add a column di"):
        packs_from_csv("", FILE)
