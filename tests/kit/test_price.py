"""A price: one number in the department's own currency, or not stated."""

from dataclasses import replace
from pathlib import Path

import pytest

from coilwright.errors import FileProblem
from coilwright.kit import ImpossibleLabel, load_kit
from kit.devices import coil, demo_kit

HEAD = "kind,id,name,read_at,shelf_count,outer_fr,lumen_inch,length_cm,price\n"
ROW = "catheter,c5,5 F catheter,pack,2,5,0.038,65,"


def from_csv(folder: Path, price: str) -> float | None:
    file = folder / "own.csv"
    file.write_text(f"{HEAD}{ROW}{price}\n", encoding="utf-8")
    return load_kit(file).catheters[0].price


def test_a_price_is_read_from_a_csv_and_an_empty_cell_is_not_stated(tmp_path: Path) -> None:
    assert from_csv(tmp_path, "84.50") == 84.5
    assert from_csv(tmp_path, "") is None


def test_a_device_whose_price_nobody_wrote_states_none() -> None:
    # The demo's kit prices what stays in the vein or goes into it, and nothing of the way there.
    kit = demo_kit()
    assert {device.price for device in (*kit.needles, *kit.wires, *kit.catheters)} == {None}
    assert None not in {device.price for device in (*kit.coils, *kit.sclerosants)}


@pytest.mark.parametrize("price", [0.0, -3.0, 2_000_000.0])
def test_nothing_on_a_shelf_is_free_or_costs_millions(price: float) -> None:
    with pytest.raises(
        ImpossibleLabel, match=r"price: .* is not possible; give a value from 0\.01"
    ):
        replace(coil(0.035), price=price)


@pytest.mark.parametrize("cell", ["0", "12 EUR", "cheap"])
def test_a_cell_that_is_no_price_is_refused_with_file_line_and_column(
    tmp_path: Path, cell: str
) -> None:
    with pytest.raises(FileProblem, match=r"own\.csv: line 2, column price"):
        from_csv(tmp_path, cell)


def test_a_price_in_words_is_mended_by_one_number(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match="give one number in the department's own currency"):
        from_csv(tmp_path, "12 EUR")
