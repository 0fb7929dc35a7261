"""HIBC codes against published vectors, and laws of their check character."""

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilwright.kit.udi import Agency, StatedDate
from coilwright.kit.udi_hibc import ALPHABET, hibc_check_character
from coilwright.kit.udi_problem import ScanProblem
from coilwright.kit.udi_scan import read_udi

TODAY = date(2026, 11, 25)
LONG = "+X999123ABC0/{}/S5678EDFG/16D20151001{}"


@pytest.mark.parametrize(
    ("text", "check"),
    [
        # CLINICAL.md 8.2, recomputed there.
        ("+A123ABCDEFGHI1234567891", "E"),
        (LONG.format("$$05191234AB", ""), "A"),
        (LONG.format("$$20515191234AB", ""), "I"),
        (LONG.format("$$31905151234AB", ""), "J"),
        (LONG.format("$1234AB", "/14D20190515"), "."),
        # By hand: 41 + 10 + 27 + 15 = 93, and 93 - 2 x 43 = 7.
        ("+A99912345", "7"),
    ],
)
def test_the_check_character_is_the_published_one(text: str, check: str) -> None:
    assert hibc_check_character(text) == check


@pytest.mark.parametrize(
    ("scan", "expiry"),
    [
        (LONG.format("$$05191234AB", "") + "A", StatedDate(year=2019, month=5)),
        (LONG.format("$$20515191234AB", "") + "I", StatedDate(year=2019, month=5, day=15)),
        (LONG.format("$$31905151234AB", "") + "J", StatedDate(year=2019, month=5, day=15)),
        (LONG.format("$1234AB", "/14D20190515") + ".", StatedDate(year=2019, month=5, day=15)),
    ],
)
def test_each_date_format_of_the_standard_is_read(scan: str, expiry: StatedDate) -> None:
    # CLINICAL.md 8.2: the same label, its expiry written in four ways.
    udi = read_udi(scan, today=TODAY)
    assert (udi.agency, udi.di) == (Agency.HIBCC, "X999123ABC0")
    assert (udi.lot, udi.serial, udi.expiry) == ("1234AB", "5678EDFG", expiry)
    assert udi.manufactured == StatedDate(year=2015, month=10, day=1)


def test_a_month_counts_to_its_last_day() -> None:
    expiry = read_udi(LONG.format("$$05191234AB", "") + "A", today=TODAY).expiry
    assert expiry is not None
    assert expiry.last_day == date(2019, 5, 31)


@pytest.mark.parametrize(
    ("data", "expiry"),
    [
        ("$$42002021612", StatedDate(year=2020, month=2, day=2, hour=16)),
        ("$$520060L", StatedDate(year=2020, month=2, day=29)),  # day 60 of a leap year
        ("$$521060L", StatedDate(year=2021, month=3, day=1)),  # and of another one
        ("$$62006023L", StatedDate(year=2020, month=2, day=29, hour=23)),
        ("$$7L", None),
    ],
)
def test_days_of_the_year_and_hours_are_read(data: str, expiry: StatedDate | None) -> None:
    text = f"+A99912345/{data}"
    assert read_udi(text + hibc_check_character(text), today=TODAY).expiry == expiry


def test_a_primary_alone_gives_the_identifier_alone() -> None:
    udi = read_udi("+A123BJC5D6E71G", today=TODAY)  # ANSI/HIBC example
    assert udi.di == "A123BJC5D6E71"
    assert (udi.lot, udi.serial, udi.expiry) == (None, None, None)


def test_asterisks_of_code_39_and_a_symbology_prefix_are_no_part_of_it() -> None:
    for scan in ("*+A123BJC5D6E71G*", "]A0+A123BJC5D6E71G", "]d1+A123BJC5D6E71G\r"):
        assert read_udi(scan, today=TODAY).di == "A123BJC5D6E71"


# By hand: the primary ends in 7 (above); the secondary repeats it as its link and sums to
# 41 + 78 + 14 + 33 + 3 + 7 = 176, and 176 - 4 x 43 = 4.
PRIMARY, SECONDARY = "+A999123457", "+$$52001510X374"


def test_a_secondary_joins_its_primary_in_either_order() -> None:
    for scans in ((PRIMARY, SECONDARY), (SECONDARY, PRIMARY)):
        udi = read_udi(*scans, today=TODAY)
        assert (udi.di, udi.lot) == ("A99912345", "10X3")
        assert udi.expiry == StatedDate(year=2020, month=1, day=15)


def test_a_secondary_alone_is_half_a_scan() -> None:
    with pytest.raises(ScanProblem, match=r"primary code: only the secondary .* half a scan"):
        read_udi(SECONDARY, today=TODAY)


def test_a_secondary_of_another_pack_is_refused() -> None:
    with pytest.raises(ScanProblem, match="secondary code: it belongs to a code that ends in 7"):
        read_udi("+A123BJC5D6E71G", SECONDARY, today=TODAY)


@pytest.mark.parametrize(
    ("scan", "reason"),
    [
        ("+A123BJC5D6E71", "check character: it ends in '1' where 'F' belongs"),
        ("+a123bjc5d6e71g", "lower-case letters, .* release caps lock"),
        ("+A123BJC5D6E71G+A123BJC5D6E71G", "two scans were run together"),
        ("+A123*BJC5D6E71G", r"'\*' is no character of this code"),
        ("+A", "the code breaks off"),
    ],
)
def test_anything_short_of_one_whole_code_is_refused(scan: str, reason: str) -> None:
    with pytest.raises(ScanProblem, match=reason):
        read_udi(scan, today=TODAY)


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        ("$$1319L", "expiry: there is no such date as year 2019, month 13"),
        ("$$3190230L", "no such date as year 2019, month 02, day 30"),
        ("$$519366L", "the year 2019 has no day 366"),
        ("$$519000L", "the year 2019 has no day 000"),
        ("$$6190012AL", "expiry: 7 figures were needed"),
        ("$$419010124L", "hour 24"),
        ("$$05", "expiry: 4 figures were needed and '05' was found"),
        ("Z9", "data identifier: 'Z9' is no data identifier known here"),
        ("S", "serial: its identifier stands there with nothing behind it"),
        ("$", "lot: its identifier stands there with nothing behind it"),
        ("14D2019051", "expiry: 8 figures were needed"),
        ("$$0519L/14D20190601", "expiry: 2019-05 and 2019-06-01: stated twice, differently"),
    ],
)
def test_data_that_cannot_be_meant_are_refused(data: str, reason: str) -> None:
    text = f"+A99912345/{data}"
    with pytest.raises(ScanProblem, match=reason):
        read_udi(text + hibc_check_character(text), today=TODAY)


@settings(deadline=None)
@given(
    place=st.integers(1, 23),
    other=st.sampled_from(ALPHABET),
)
def test_one_wrong_character_never_passes(place: int, other: str) -> None:
    # A sum modulo 43 of values below 43 changes with any single one of them.
    scan = "+A99912345/$$52001510X33"
    if scan[place] == other:
        return
    with pytest.raises(ScanProblem):
        read_udi(scan[:place] + other + scan[place + 1 :], today=TODAY)


@settings(deadline=None)
@given(
    product=st.text("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ", min_size=1, max_size=18),
    lot=st.text("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ", min_size=1, max_size=18),
    expiry=st.dates(date(1977, 1, 1), date(2076, 12, 31)),
)
def test_what_is_written_is_read_again_whatever_its_check_character(
    product: str, lot: str, expiry: date
) -> None:
    text = f"+A999{product}0/$$3{expiry:%y%m%d}{lot}"
    udi = read_udi(text + hibc_check_character(text), today=TODAY)
    assert (udi.di, udi.lot) == (f"A999{product}0", lot)
    assert udi.expiry is not None
    assert udi.expiry.last_day == expiry


@pytest.mark.parametrize(
    ("scan", "reason"),
    [
        ("=,000025=>014032", "product code: no product code, so no device: half a scan"),
        ("=/A9999XYZ100T09", "data structure: at '=/A9' the code breaks off"),
        ("=)1TE123456A=)1TE123456A", "container: it stands twice: two scans run together"),
        ("=/A9999XYZ100T0944=>014366", "expiry: the year 2014 has no day 366"),
        ("=/a9999xyz100t0944", "scan: lower-case letters, .* release caps lock"),
    ],
)
def test_half_a_code_of_human_origin_is_refused(scan: str, reason: str) -> None:
    with pytest.raises(ScanProblem, match=reason):
        read_udi(scan, today=TODAY)
