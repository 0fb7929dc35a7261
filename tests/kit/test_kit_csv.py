"""A department's own devices in a CSV: docs/kit-csv.md holds what it says."""

import re
from dataclasses import fields
from pathlib import Path

import pytest

from coilwright.errors import FileProblem
from coilwright.kit import Kit, MrCondition, Needle, csv_columns, load_kit

DOC = (Path(__file__).parents[2] / "docs" / "kit-csv.md").read_text(encoding="utf-8")
HEAD = "kind,id,name,read_at,shelf_count,outer_fr,lumen_inch,length_cm\n"
ROW = "catheter,c5,5 F catheter,pack,2,5,0.038,65\n"


def example() -> str:
    found = re.search(r"```csv\n(.*?)```", DOC, re.DOTALL)
    assert found is not None
    return found[1]


def written(folder: Path, text: str) -> Path:
    file = folder / "own.csv"
    file.write_bytes(text.encode())
    return file


def test_the_documents_example_holds_one_device_of_each_kind(tmp_path: Path) -> None:
    kit = load_kit(written(tmp_path, example()))
    assert [len(getattr(kit, field.name)) for field in fields(Kit)] == [1] * 10


def test_the_documents_example_gives_the_values_that_it_shows(tmp_path: Path) -> None:
    kit = load_kit(written(tmp_path, example()))
    (needle,), (micro,), (coil,) = kit.needles, kit.microcatheters, kit.coils
    assert isinstance(needle, Needle)
    assert (needle.gauge, needle.inner_diameter_mm, needle.accepts_wire_inch) == (18, 0.95, 0.035)
    assert (micro.outer_fr, micro.lumen_inch, micro.lumen_mm) == (2.7, None, 0.53)
    assert micro.where_read("outer_distal_fr") == "leaflet page 2"
    assert micro.where_read("outer_fr") == "pack"
    assert coil.fibred is True
    assert coil.mr == (MrCondition(field_t=1.5, label="MR Conditional: 2 W/kg, 15 min"),)


def test_every_column_is_on_the_page() -> None:
    assert csv_columns()
    for column in csv_columns():
        assert f"`{column}`" in DOC, column


def test_an_editors_mark_and_windows_line_ends_are_read_alike(tmp_path: Path) -> None:
    plain = load_kit(written(tmp_path, HEAD + ROW))
    marked = load_kit(written(tmp_path, "\ufeff" + (HEAD + ROW + "\n").replace("\n", "\r\n")))
    assert marked == plain
    assert plain.catheters[0].lumen_inch == 0.038


def test_an_empty_cell_is_a_label_that_does_not_say(tmp_path: Path) -> None:
    kit = load_kit(written(tmp_path, HEAD + ROW.replace("0.038", "")))
    assert kit.catheters[0].bore_mm is None


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("lumen_inch", "lumen_cm", "line 1, column lumen_cm: unknown column; .*lumen_inch or"),
        ("lumen_inch", "lumin_inch", "line 1, column lumin_inch: .*perhaps lumen_inch is meant"),
        ("lumen_inch", "outer_fr", "line 1, column outer_fr: stands twice; keep one"),
        ("lumen_inch", "", r"line 1, column \(no name\): unknown column"),
        ("read_at", "lot", "line 1, column read_at: missing; add a column read_at"),
        (",", ";", "line 1: no commas between the columns; save it with commas"),
        ("0.038", "0.965", "line 2, column lumen_inch: 0.965 is not possible; give a value from"),
        ("0.038", "0.038 in", "line 2, column lumen_inch: '0.038 in' .*number in inches"),
        ("0.038", '"0,038"', "line 2, column lumen_inch: '0,038' .*number in inches"),
        ("0.038", "nan", "line 2, column lumen_inch: 'nan' cannot be used"),
        ("0.038", "0.07", "line 2, column lumen_inch: wider inside than the 1.67 mm outside"),
        (",2,5,", ",2.0,5,", "line 2, column shelf_count: '2.0' .*whole number"),
        (",2,5,", ",,5,", "line 2, column shelf_count: missing; give a whole number"),
        ("catheter,", "cathether,", "line 2, column kind: 'cathether' is no kind of device; say"),
        ("catheter,", "wire,", "line 2, column outer_fr: no value of a wire; leave it empty"),
        ("65\n", "65,7\n", "line 2: 9 cells under 8 columns"),
        ("5 F catheter", '"5 F catheter', r"line 2: no CSV \("),
        (ROW, "", "line 2: no device; write one device a line"),
        (ROW, ROW + ROW, "line 3, column id: c5 stands in line 2 too; give each its own id"),
    ],
)
def test_a_wrong_column_unit_or_cell_is_one_sentence_with_line_column_and_mend(
    tmp_path: Path, old: str, new: str, sentence: str
) -> None:
    count = -1 if old == "," else 1
    file = written(tmp_path, (HEAD + ROW).replace(old, new, count))
    with pytest.raises(FileProblem, match=rf"^own\.csv: {sentence}") as caught:
        load_kit(file)
    assert "\n" not in str(caught.value)


def test_a_cell_over_two_lines_does_not_shift_the_numbers_of_later_lines(tmp_path: Path) -> None:
    two_lines = ROW.replace("pack", '"pack,\nside"')
    wrong = ROW.replace("c5", "c6").replace("0.038", "wide")
    with pytest.raises(FileProblem, match="line 4, column lumen_inch"):
        load_kit(written(tmp_path, HEAD + two_lines + wrong))


@pytest.mark.parametrize(
    ("cell", "sentence"),
    [
        ("leaflet", "'leaflet' cannot be used; write value: where it was read"),
        ("lumen: leaflet", "lumen is no value of this device"),
        ("tip: leaflet", "tip is not given"),
    ],
)
def test_where_a_value_was_read_names_a_value_that_is_given(
    tmp_path: Path, cell: str, sentence: str
) -> None:
    text = HEAD.replace("\n", ",sources\n") + ROW.replace("\n", f",{cell}\n")
    with pytest.raises(FileProblem, match=f"line 2, column sources: {sentence}"):
        load_kit(written(tmp_path, text))


def test_a_file_that_is_not_there_or_not_text_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match="no such file"):
        load_kit(tmp_path / "none.csv")
    (tmp_path / "own.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(FileProblem, match="not UTF-8 text"):
        load_kit(tmp_path / "own.csv")
