"""Health Industry Bar Code (HIBC) of a supplier: primary, secondary, or both joined by a slash.

Layout and date flags: ANSI/HIBC 2.6, as restated in public sources; quantity (``$$8``, ``$$9``),
no date (``$$7``) and serial (``$+``, ``$$+``) are from memory of the same standard. The standard
writes years in two figures and names no century: the window of GS1 is used.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from coilwright.kit.udi import Agency, StatedDate, Udi
from coilwright.kit.udi_dates import figures, full_year, stated_date, stated_day_of_year
from coilwright.kit.udi_problem import ScanProblem

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%"

_PRIMARY = re.compile(r"[A-Z][A-Z0-9]{3}[A-Z0-9]{1,18}[0-9]")
_AGAIN = "scan the whole code again"
# The flag behind ``$$`` and how the date behind it is written; without a flag it is MMYY.
_DATE_LAYOUTS = {"2": "MMDDYY", "3": "YYMMDD", "4": "YYMMDDHH", "5": "YYJJJ", "6": "YYJJJHH"}
_QUANTITY_FIGURES = {"8": 2, "9": 5}
_EXPIRY, _MANUFACTURED = "expiry", "manufacturing date"

Kept = TypeVar("Kept", str, StatedDate)


def hibc_check_character(text: str) -> str:
    """Check character that belongs behind ``text``, its flag ``+`` included.

    References
    ----------
    ANSI/HIBC 2.6, modulo 43 over the characters of Code 39 valued 0 to 42 in their order.

    Examples
    --------
    >>> hibc_check_character("+A123BJC5D6E71")
    'G'
    """
    return ALPHABET[sum(ALPHABET.index(character) for character in text) % len(ALPHABET)]


def is_hibc_primary(text: str) -> bool:
    """True for labeller, product and unit of measure, without flag and check character."""
    return _PRIMARY.fullmatch(text) is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Code:
    """One code without flag and check character; ``link`` repeats its primary's, if alone."""

    primary: str | None
    data: tuple[str, ...]
    check: str
    link: str | None = None


def hibc_udi(scans: Sequence[str], *, raw: str, today: date) -> Udi:
    """The device of a primary code, of a joined one, or of a primary with its secondary.

    Raises
    ------
    ScanProblem
        A wrong check character, a secondary without its primary or with another's, lower case,
        an unknown data identifier, an impossible date.
    """
    codes = [_code(scan) for scan in scans]
    primaries = {code.primary: code.check for code in codes if code.primary is not None}
    if len(primaries) != 1:
        raise _no_single_primary(len(primaries))
    di, check = primaries.popitem()
    for code in codes:
        if code.link is not None and code.link != check:
            found = f"it belongs to a code that ends in {code.link}, and this one ends in {check}"
            raise ScanProblem("secondary code", found, "scan both codes of one pack")
    return _udi(str(di), [segment for code in codes for segment in code.data], raw, today)


def _no_single_primary(count: int) -> ScanProblem:
    if count:
        found = f"{count} different devices in one go"
        return ScanProblem("primary code", found, "scan one pack at a time")
    found = "only the secondary code was scanned, which names no device: half a scan"
    return ScanProblem("primary code", found, "scan the pack's primary code with it")


def _code(scan: str) -> _Code:
    text = scan[1:-1] if len(scan) > 2 and scan[0] == scan[-1] == "*" else scan
    _refuse_characters(text)
    if re.search(r"[^$]\+[A-Z][A-Z0-9]{3}", text):
        raise ScanProblem("scan", "two scans were run together", "scan one pack at a time")
    body, check = text[1:-1], text[-1:]
    if len(body) < 2:
        raise ScanProblem("scan", "the code breaks off", _AGAIN)
    if hibc_check_character(text[:-1]) != check:
        found = f"it ends in {check!r} where {hibc_check_character(text[:-1])!r} belongs"
        raise ScanProblem("check character", f"{found} (misread, or half a scan)", _AGAIN)
    if body.startswith("$"):
        return _Code(primary=None, data=tuple(body[:-1].split("/")), check=check, link=body[-1])
    primary, *data = body.split("/")
    if not is_hibc_primary(primary):
        found = "not a labeller of four, a product of 1 to 18 characters and a unit of measure"
        raise ScanProblem("primary code", found, _AGAIN)
    return _Code(primary=primary, data=tuple(data), check=check)


def _refuse_characters(text: str) -> None:
    if any(character.islower() for character in text):
        found = "lower-case letters, which this code never has"
        raise ScanProblem("scan", found, "release caps lock, check the scanner's case, scan again")
    strange = sorted(set(text) - set(ALPHABET))
    if strange:
        found = f"{strange[0]!r} is no character of this code"
        raise ScanProblem("scan", found, "check the scanner's keyboard layout, then scan again")


def _udi(di: str, segments: list[str], raw: str, today: date) -> Udi:
    texts: dict[str, str] = {}
    dates: dict[str, StatedDate] = {}
    for segment in segments:
        if segment.startswith("$"):
            _read_dollar(segment, texts, dates, today)
        elif segment.startswith(("14D", "16D")):
            name = _EXPIRY if segment.startswith("14D") else _MANUFACTURED
            _keep(dates, name, _day(name, segment[3:]))
        elif segment.startswith(("S", "Q")):
            _keep(texts, "serial" if segment[0] == "S" else "quantity", segment[1:])
        else:
            found = f"{segment[:3]!r} is no data identifier known here"
            raise ScanProblem("data identifier", found, "read the pack and type it by hand")
    others = (("quantity", texts["quantity"]),) if "quantity" in texts else ()
    return Udi(
        agency=Agency.HIBCC,
        di=di,
        raw=raw,
        lot=texts.get("lot"),
        serial=texts.get("serial"),
        expiry=dates.get(_EXPIRY),
        manufactured=dates.get(_MANUFACTURED),
        others=others,
    )


def _keep(kept: dict[str, Kept], name: str, value: Kept) -> None:
    if not value:
        raise ScanProblem(name, "its identifier stands there with nothing behind it", _AGAIN)
    if kept.setdefault(name, value) != value:
        found = f"{kept[name]} and {value}: stated twice, differently"
        raise ScanProblem(name, found, "scan one pack at a time")


def _day(field: str, text: str) -> StatedDate:
    if len(figures(field, text, 8)) != len(text):
        raise ScanProblem(field, f"{text!r} is longer than a date of eight figures", _AGAIN)
    return stated_date(field, year=int(text[:4]), month=int(text[4:6]), day=int(text[6:8]))


def _read_dollar(
    segment: str, texts: dict[str, str], dates: dict[str, StatedDate], today: date
) -> None:
    """``$`` lot, ``$+`` serial, ``$$`` date and lot, ``$$+`` date and serial."""
    dated = segment.startswith("$$")
    rest = segment[2:] if dated else segment[1:]
    name = "serial" if rest.startswith("+") else "lot"
    rest = rest.removeprefix("+")
    if dated:
        rest = _read_quantity(rest, texts)
        rest = _read_date(rest, dates, today)
    if rest:
        _keep(texts, name, rest)
    elif not dated:
        raise ScanProblem(name, "its identifier stands there with nothing behind it", _AGAIN)


def _read_quantity(rest: str, texts: dict[str, str]) -> str:
    count = _QUANTITY_FIGURES.get(rest[:1])
    if count is None:
        return rest
    _keep(texts, "quantity", figures("quantity", rest[1:], count))
    return rest[1 + count :]


def _read_date(rest: str, dates: dict[str, StatedDate], today: date) -> str:
    """Keep the date at the head of ``rest``, as its flag says; give back what follows it."""
    flag = rest[:1]
    if flag == "7":
        return rest[1:]
    layout = _DATE_LAYOUTS.get(flag)
    if layout is None:
        layout, text = "MMYY", rest
    else:
        text = rest[1:]
    written = figures(_EXPIRY, text, len(layout))
    _keep(dates, _EXPIRY, _written_date(layout, written, today))
    return text[len(layout) :]


def _written_date(layout: str, written: str, today: date) -> StatedDate:
    part = {
        letter: int(written[layout.index(letter) : layout.rindex(letter) + 1])
        for letter in set(layout)
    }
    year, hour = full_year(part["Y"], today), part.get("H")
    if "J" in part:
        return stated_day_of_year(_EXPIRY, year=year, day_of_year=part["J"], hour=hour)
    return stated_date(_EXPIRY, year=year, month=part["M"], day=part.get("D"), hour=hour)
