"""A pack as labelled: what one batch is, and what no pack states."""

import datetime as dt
import re

import pytest

from coilwright.kit import ImpossibleLabel, read_udi
from coilwright.record.shelf_pack import Pack, pack_of

TODAY = dt.date(2026, 3, 12)


def test_a_scan_becomes_the_pack_that_its_fields_state() -> None:
    # FDA's worked example (UDI formats by issuing agency, v1.3; CLINICAL 8.1): expiry 7 July 2015.
    udi = read_udi("(01)51022222233336(11)141231(17)150707(10)A213B1(21)1234", today=TODAY)
    assert pack_of(udi) == Pack(
        di="51022222233336", lot="A213B1", serial="1234", expiry=dt.date(2015, 7, 7)
    )


def test_an_expiry_to_the_month_lasts_to_the_months_last_day() -> None:
    # GS1 General Specifications, AI 17: 210300 is 31 March 2021.
    udi = read_udi("(01)51022222233336(17)210300(10)A213B1", today=TODAY)
    assert pack_of(udi) == Pack(di="51022222233336", lot="A213B1", expiry=dt.date(2021, 3, 31))


def test_an_hibc_code_becomes_a_pack_too() -> None:
    # A published mod-43 vector (CLINICAL 8.2): $$ and 0519 is May 2019, to its last day.
    udi = read_udi("+X999123ABC0/$$05191234AB/S5678EDFG/16D20151001A", today=TODAY)
    pack = pack_of(udi)
    assert (pack.di, pack.lot, pack.serial) == ("X999123ABC0", "1234AB", "5678EDFG")
    assert pack.expiry == dt.date(2019, 5, 31)


def test_what_the_scan_does_not_state_stays_unstated() -> None:
    pack = pack_of(read_udi("(01)51022222233336", today=TODAY))
    assert (pack.lot, pack.serial, pack.expiry) == (None, None, None)


def test_capitals_part_two_batches() -> None:
    assert Pack(di="51022222233336", lot="ab") != Pack(di="51022222233336", lot="AB")


@pytest.mark.parametrize(
    ("stated", "sentence"),
    [
        ({"di": "51022222233337"}, "di: '51022222233337' is no device identifier; scan the pack"),
        ({"di": ""}, "di: '' is no device identifier"),
        (
            # 00844588003288 is the HL7 example's GTIN; a spreadsheet leaves 844588003288 of it.
            {"di": "844588003288"},
            "write all fourteen figures, 00844588003288: the zeros in front were lost",
        ),
        ({"lot": " "}, "lot: empty; copy it from the pack"),
        ({"lot": "A1 "}, "lot: spaces around 'A1'"),
        ({"serial": "A\x1d10B"}, r"serial: 'A\x1d10B' holds what no label prints"),
    ],
)
def test_an_impossible_pack_is_refused_with_the_mend(stated: dict[str, str], sentence: str) -> None:
    label: dict[str, str] = {"di": "51022222233336"} | stated
    with pytest.raises(ImpossibleLabel, match=re.escape(sentence)):
        Pack(**label)  # type: ignore[arg-type]  # texts alone, wrong on purpose
