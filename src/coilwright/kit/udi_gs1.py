"""GS1 element strings and Digital Link addresses, as read from the pack of a device."""

import re
from dataclasses import dataclass
from datetime import date

from biip import ParseConfig, ParseError
from biip.gs1_application_identifiers import GS1ApplicationIdentifier
from biip.gs1_digital_link_uris import GS1DigitalLinkURI
from biip.gs1_element_strings import GS1ElementString

from coilwright.kit.gtin import GTIN_DIGITS, gtin_check_digit, is_gtin_14
from coilwright.kit.udi import Agency, StatedDate, Udi
from coilwright.kit.udi_dates import figures, full_year, stated_date
from coilwright.kit.udi_problem import ScanProblem

GROUP_SEPARATOR = "\x1d"

# Dates are judged by our own rules: the library's century depends on the clock.
_CONFIG = ParseConfig(gs1_element_strings_verify_date=False)
_BRACKETED = re.compile(r"[({](\d{2,4})[)}]")
_DATES = {"11": "manufacturing date (11)", "15": "best before (15)", "17": "expiry (17)"}
_EXPIRY_WITH_TIME = "7003"
_OWN_FIELDS = {"01", "10", "21", _EXPIRY_WITH_TIME, *_DATES}
_TOGETHER = "scan one pack at a time, or type it with the identifiers in brackets"


@dataclass(frozen=True, slots=True, kw_only=True)
class Element:
    """One statement of a GS1 code: its application identifier and what follows it."""

    ai: str
    value: str


def gs1_elements(text: str) -> tuple[Element, ...]:
    """The element strings of one scan without its symbology prefix.

    Plain (group separators as ``\\x1d``), with identifiers in brackets or braces, or as a Digital
    Link address.

    Raises
    ------
    ScanProblem
        An unknown identifier, a value that its identifier does not allow, two scans run together.
    """
    if re.match(r"https?://", text, re.IGNORECASE):
        return _linked(text)
    elements = _bracketed(text) if _BRACKETED.match(text) else _plain(text)
    seen: set[str] = set()
    for element in elements:
        if element.ai in seen:
            found = f"({element.ai}) stands twice, so two scans were run together"
            raise ScanProblem("scan", found, _TOGETHER)
        seen.add(element.ai)
    return tuple(elements)


def gs1_udi(elements: tuple[Element, ...], *, raw: str, today: date) -> Udi:
    """The device that the elements state; ``today`` settles the century of its dates."""
    values = _agreeing(elements)
    if "01" not in values:
        read = ", ".join(f"({ai})" for ai in values) or "nothing"
        found = f"no device identifier (01), only {read}: half a scan"
        raise ScanProblem("GTIN (01)", found, "scan the pack's other bar code with it")
    dates = {ai: _date(values[ai], field, today) for ai, field in _DATES.items() if ai in values}
    return Udi(
        agency=Agency.GS1,
        di=checked_gtin(values["01"]),
        raw=raw,
        lot=values.get("10"),
        serial=values.get("21"),
        expiry=dates.get("17", _expiry_with_time(values, today)),
        best_before=dates.get("15"),
        manufactured=dates.get("11"),
        others=tuple((ai, value) for ai, value in values.items() if ai not in _OWN_FIELDS),
    )


def checked_gtin(digits: str) -> str:
    """The GTIN in fourteen figures, its check digit proven."""
    gtin = digits.zfill(GTIN_DIGITS)
    if not is_gtin_14(gtin):
        right = gtin_check_digit(gtin[:-1])
        found = f"{digits} ends in the check digit {gtin[-1]} where {right} belongs"
        raise ScanProblem("GTIN (01)", found, "scan again, and if it stays set the pack aside")
    return gtin


def _linked(text: str) -> tuple[Element, ...]:
    try:
        parsed = GS1DigitalLinkURI.parse(text, config=_CONFIG).element_strings
    except (ParseError, ValueError):  # the latter where it is no address at all
        found = "the address is no GS1 Digital Link that can be read"
        raise ScanProblem("scan", found, "scan the pack's other code") from None
    return tuple(Element(ai=one.ai.ai, value=one.value) for one in parsed)


def _bracketed(text: str) -> list[Element]:
    parts = _BRACKETED.split(text)[1:]
    pairs = zip(parts[::2], parts[1::2], strict=True)
    return [_whole(_identifier(ai), value.strip(f" {GROUP_SEPARATOR}")) for ai, value in pairs]


def _plain(text: str) -> list[Element]:
    elements: list[Element] = []
    rest = text.lstrip(GROUP_SEPARATOR)
    while rest:
        ai = _identifier(rest)
        until_separator, _, after = rest.partition(GROUP_SEPARATOR)
        if ai.separator_required:
            element, rest = _whole(ai, until_separator[len(ai) :]), after
            _refuse_second_gtin(element)
        else:
            element = _first(ai, until_separator)
            rest = rest[len(ai) + len(element.value) :]
        elements.append(element)
        rest = rest.lstrip(GROUP_SEPARATOR)
    return elements


def _identifier(text: str) -> GS1ApplicationIdentifier:
    try:
        ai = GS1ApplicationIdentifier.extract(text)
    except ParseError:
        found = f"no GS1 application identifier begins with {text[:4]!r}"
        mend = "scan again, or type what the pack prints, its identifiers in brackets"
        raise ScanProblem("application identifier", found, mend) from None
    return ai


def _whole(ai: GS1ApplicationIdentifier, value: str) -> Element:
    """An element whose end is known: all of ``value`` must be allowed."""
    if not (value and re.fullmatch(ai.pattern, ai.ai + value)):
        raise _not_allowed(ai, value)
    return Element(ai=ai.ai, value=value)


def _first(ai: GS1ApplicationIdentifier, text: str) -> Element:
    """The element of fixed length at the head of ``text``."""
    try:
        return Element(ai=ai.ai, value=GS1ElementString.extract(text, config=_CONFIG).value)
    except ParseError:
        raise _not_allowed(ai, text[len(ai) :]) from None


def _not_allowed(ai: GS1ApplicationIdentifier, value: str) -> ScanProblem:
    if ai.ai in _DATES and re.match(r"\d{6}", value):
        found = f"there is no such date as {value[:6]} (year, month, day)"
        return ScanProblem(_DATES[ai.ai], found, "check the date on the pack, then scan again")
    found = f"it takes {_in_words(ai.format)}, and {value[:40]!r} was found"
    most = re.search(r"\.\.(\d+)$", ai.format)
    if most and len(value) > int(most[1]):
        found += ": two scans run together, or a scanner that sends no group separator"
        return ScanProblem(f"{ai.data_title} ({ai.ai})", found, _TOGETHER)
    return ScanProblem(f"{ai.data_title} ({ai.ai})", found, "scan the whole code again")


def _in_words(form: str) -> str:
    """``N2+X..20`` is an identifier of two figures, then up to 20 characters."""
    data = form.partition("+")[2]
    named = re.fullmatch(r"([NX])(\.\.)?(\d+)", data)
    if named is None:
        return data
    kind = "figures" if named[1] == "N" else "characters of the GS1 set"
    return f"{'up to ' if named[2] else ''}{named[3]} {kind}"


def _refuse_second_gtin(element: Element) -> None:
    """A GTIN with a right check digit inside a lot is the next scan, run on without an end."""
    for start in range(1, len(element.value)):
        head = element.value[start : start + 2 + GTIN_DIGITS]
        if head.startswith("01") and is_gtin_14(head[2:]):
            found = "it holds a second device identifier: two scans run together"
            raise ScanProblem(f"({element.ai})", found, _TOGETHER)


def _agreeing(elements: tuple[Element, ...]) -> dict[str, str]:
    values: dict[str, str] = {}
    for element in elements:
        if values.setdefault(element.ai, element.value) != element.value:
            found = f"{values[element.ai]} in one code and {element.value} in another"
            raise ScanProblem(f"({element.ai})", found, _TOGETHER)
    return values


def _date(text: str, field: str, today: date) -> StatedDate:
    text = figures(field, text, 6)
    year, month, day = full_year(int(text[:2]), today), int(text[2:4]), int(text[4:6])
    return stated_date(field, year=year, month=month, day=day or None)


def _expiry_with_time(values: dict[str, str], today: date) -> StatedDate | None:
    """Expiry (7003) is YYMMDDHHMM; the minutes are left in the raw text."""
    if _EXPIRY_WITH_TIME not in values:
        return None
    text, field = values[_EXPIRY_WITH_TIME], "expiry (7003)"
    year = full_year(int(text[:2]), today)
    return stated_date(
        field, year=year, month=int(text[2:4]), day=int(text[4:6]), hour=int(text[6:8])
    )
