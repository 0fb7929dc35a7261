"""GS1 codes as scanners send them, against the published examples and the rules of the standard."""

import string
from datetime import date

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from coilwright.kit.gtin import gtin_check_digit
from coilwright.kit.udi import StatedDate
from coilwright.kit.udi_problem import ScanProblem
from coilwright.kit.udi_scan import read_udi

TODAY = date(2026, 11, 25)
# HL7 US Core, CLINICAL.md 8.1: expiry 2014-11-20, lot 7654321D, serial 10987654d321.
US_CORE = "(01)09504000059118(17)141120(10)7654321D(21)10987654d321"
US_CORE_PLAIN = "010950400005911817141120107654321D\x1d2110987654d321"
# GS1 General Specifications, figure 7.11-1: the 82 characters, as CLINICAL.md 8.1 lists them.
GS1_CHARACTERS = "!\"%&'()*+,-./:;<=>?_" + string.ascii_letters + string.digits


@pytest.mark.parametrize(
    "scan",
    [
        US_CORE,
        US_CORE.replace("(", "{").replace(")", "}"),
        US_CORE_PLAIN,
        "\x1d" + US_CORE_PLAIN + "\x1d",
        *(prefix + US_CORE_PLAIN for prefix in ("]d2", "]C1", "]e0", "]Q3")),
        *(US_CORE_PLAIN.replace("\x1d", sent) for sent in ("~", "^]", "<GS>", "{GS}")),
        "]d2" + US_CORE_PLAIN + "\r\n",
        "https://id.gs1.org/01/09504000059118/10/7654321D/21/10987654d321?17=141120",
    ],
)
def test_the_example_of_us_core_reads_alike_however_the_scanner_sends_it(scan: str) -> None:
    udi = read_udi(scan, today=TODAY)
    assert (udi.di, udi.lot, udi.serial) == ("09504000059118", "7654321D", "10987654d321")
    assert udi.expiry == StatedDate(year=2014, month=11, day=20)
    assert udi.raw == scan


def test_the_example_of_the_fda_reads_to_its_fields() -> None:
    # FDA, UDI formats by issuing agency, v1.3 (CLINICAL.md 8.1).
    scan = "(01)51022222233336(11)141231(17)150707(10)A213B1(21)1234"
    udi = read_udi(scan, today=TODAY)
    assert (udi.di, udi.lot, udi.serial) == ("51022222233336", "A213B1", "1234")
    assert udi.manufactured == StatedDate(year=2014, month=12, day=31)
    assert udi.expiry == StatedDate(year=2015, month=7, day=7)


@pytest.mark.parametrize(
    ("written", "last_day"),
    [
        ("210300", date(2021, 3, 31)),  # CLINICAL.md 8.1: 210300 is 2021-03-31
        ("240200", date(2024, 2, 29)),  # a leap year by the calendar
        ("250200", date(2025, 2, 28)),
    ],
)
def test_day_00_is_the_last_day_of_its_month(written: str, last_day: date) -> None:
    expiry = read_udi(f"(01)09504000059118(17){written}", today=TODAY).expiry
    assert expiry is not None
    assert expiry.day is None
    assert expiry.last_day == last_day


@pytest.mark.parametrize(
    ("today", "two_figures", "year"),
    [
        # GS1 General Specifications 7.12: 51 to 99 ahead is the last century, 50 to 99 back the
        # next one. Worked by hand.
        (date(2026, 1, 1), "76", 2076),
        (date(2026, 1, 1), "77", 1977),
        (date(2026, 1, 1), "00", 2000),
        (date(2060, 1, 1), "11", 2011),
        (date(2060, 1, 1), "10", 2110),
        (date(1999, 1, 1), "49", 2049),
    ],
)
def test_the_century_is_that_of_the_standards_window(
    today: date, two_figures: str, year: int
) -> None:
    expiry = read_udi(f"(01)09504000059118(17){two_figures}0101", today=today).expiry
    assert expiry == StatedDate(year=year, month=1, day=1)


def test_two_codes_of_one_pack_make_one_device() -> None:
    udi = read_udi("]C10109504000059118", "]C117141120107654321D", today=TODAY)
    assert (udi.di, udi.lot) == ("09504000059118", "7654321D")


def test_a_retail_code_gives_the_identifier_alone() -> None:
    # 6291041500213 is GS1's own worked example of the check digit (CLINICAL.md 8.1).
    udi = read_udi("]E06291041500213", today=TODAY)
    assert udi.di == "06291041500213"
    assert (udi.lot, udi.serial, udi.expiry) == (None, None, None)


def test_identifiers_without_a_field_of_their_own_are_kept() -> None:
    udi = read_udi("(01)09504000059118(240)REF-1(10)A", today=TODAY)
    assert udi.others == (("240", "REF-1"),)


@pytest.mark.parametrize(
    ("scan", "reason"),
    [
        ("", "scan: it is empty"),
        ("0109504000", r"GTIN \(01\): it takes 14 figures, and '09504000' was found"),
        ("0109504000059118171411", r"\(17\): it takes 6 figures, and '1411' was found"),
        ("(01)09504000059118(10)", r"\(10\): it takes up to 20 characters"),
        ("(17)141120(10)A", r"GTIN \(01\): no device identifier .* half a scan"),
        ("0109504000059119", r"GTIN \(01\): .* check digit 9 where 8 belongs"),
        ("010950400005911884X", "application identifier: no GS1 .* begins with '84X'"),
        ("(01)09504000059118(0500)1", "application identifier: .* begins with '0500'"),
        ("(01)09504000059118(17)141320", r"expiry \(17\): there is no such date as 141320"),
        ("(01)09504000059118(17)140231", "no such date as year 2014, month 02, day 31"),
        ("(01)09504000059118(17)140020", "no such date as year 2014, month 00"),
        ("(01)09504000059118(11)150101(17)141120", "expiry: .* lies before the manufacturing"),
        (US_CORE + US_CORE, r"\(01\) stands twice, so two scans were run together"),
        (US_CORE_PLAIN + US_CORE_PLAIN, r"SERIAL \(21\): .* two scans run together"),
        ("010950400005911810A0109506000134352", r"\(10\): .* two scans run together"),
        (f"]d2{US_CORE_PLAIN}]d2{US_CORE_PLAIN}", "a second symbology prefix: two scans"),
        (f"{US_CORE}\r\n{US_CORE}", "two scans were run together"),
        ("]D2" + US_CORE_PLAIN, "the prefix ]D2 has its case turned round; release caps lock"),
        ("(01)09504000059118(10)A#B", r"\(10\): .* 'A#B' was found"),
        ("(01)0９504000059118", "'９' is in no device code"),
        ("https://example.org/coil", "no GS1 Digital Link"),
        ("https://id.[gs1.org/01/09504000059118", "no GS1 Digital Link"),
        ("hello", "application identifier"),
        ("0" * 401, "401 characters, too many for one code"),
    ],
)
def test_anything_short_of_one_whole_code_is_refused(scan: str, reason: str) -> None:
    with pytest.raises(ScanProblem, match=reason):
        read_udi(scan, today=TODAY)


def test_codes_of_two_packs_are_refused() -> None:
    with pytest.raises(ScanProblem, match="scan one pack at a time"):
        read_udi("(01)09504000059118", "(01)09506000134352", today=TODAY)
    with pytest.raises(ScanProblem, match="codes of different agencies"):
        read_udi("(01)09504000059118", "+A123BJC5D6E71G", today=TODAY)


def gtins() -> st.SearchStrategy[str]:
    payloads = st.text("0123456789", min_size=13, max_size=13)
    return payloads.map(lambda digits: digits + str(gtin_check_digit(digits)))


def texts() -> st.SearchStrategy[str]:
    return st.text(GS1_CHARACTERS, min_size=1, max_size=20)


@settings(deadline=None)
@given(
    gtin=gtins(),
    lot=texts(),
    serial=texts(),
    expiry=st.dates(date(1977, 1, 1), date(2076, 12, 31)),
    separator=st.sampled_from(["\x1d", "~", "^]", "<GS>", "{GS}"]),
)
def test_what_is_written_plain_is_read_again(
    gtin: str, lot: str, serial: str, expiry: date, separator: str
) -> None:
    assume("<GS>" not in lot + serial)
    udi = read_udi(f"01{gtin}17{expiry:%y%m%d}10{lot}{separator}21{serial}", today=TODAY)
    assert (udi.di, udi.lot, udi.serial) == (gtin, lot, serial)
    assert udi.expiry is not None
    assert udi.expiry.last_day == expiry


@settings(deadline=None)
@given(gtin=gtins(), wrong=st.integers(1, 9), lot=texts())
def test_any_other_check_digit_is_refused(gtin: str, wrong: int, lot: str) -> None:
    other = gtin[:-1] + str((int(gtin[-1]) + wrong) % 10)
    with pytest.raises(ScanProblem, match="check digit"):
        read_udi(f"01{other}10{lot}", today=TODAY)


@settings(deadline=None)
@given(cut=st.integers(1, 23))
def test_a_code_cut_anywhere_before_its_lot_is_refused_or_names_what_it_has(cut: int) -> None:
    # 16 characters are the whole identifier and a code of their own; all other cuts are halves.
    scan = US_CORE_PLAIN[:cut]
    if cut == 16:
        assert read_udi(scan, today=TODAY).expiry is None
        return
    with pytest.raises(ScanProblem):
        read_udi(scan, today=TODAY)
