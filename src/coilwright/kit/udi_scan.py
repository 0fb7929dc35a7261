"""From what a scanner sends to a device: which agency's code it is, and what stands in the way."""

import re
from collections.abc import Sequence
from datetime import date

from coilwright.kit.udi import Agency, Udi
from coilwright.kit.udi_gs1 import GROUP_SEPARATOR, Element, checked_gtin, gs1_elements, gs1_udi
from coilwright.kit.udi_hibc import hibc_udi
from coilwright.kit.udi_iccbba import iccbba_udi
from coilwright.kit.udi_keyboard import LAYOUTS, typed_as_us
from coilwright.kit.udi_problem import ScanProblem

# A device's code has 76 characters at most as printed (FDA, UDI formats by issuing agency, v1.3);
# generous, for addresses.
LONGEST_SCAN = 400

# How scanners are set to send the group separator, none of them in the GS1 set of characters
# but the words in angle brackets.
_SEPARATORS = re.compile(r"~|\^\]|<GS>|\{GS\}|\[GS\]|␝")
# ISO/IEC 15424: the letter names the symbology, the modifier how it is used.
_PREFIX = re.compile(r"\][A-Za-z][0-9A-Za-z]")
_BARE_GTIN = re.compile(r"\][EI]\d(\d{8}|\d{12,14})")
_STARTS = re.compile(
    r"(\][A-Za-z]\d)?([({]\d{2,4}[)}]|01\d{2}|\*?\+([A-Z]|\$)[A-Z0-9$+]|=[/)][A-Z0-9]|https?://)"
)
_LAYOUT_MEND = "set the scanner and the computer to the same keyboard layout, then scan again"


def read_udi(*scans: str, today: date) -> Udi:
    """The device that one scan, or the two codes of one pack, name.

    Takes GS1 element strings (plain, in brackets or braces, with a symbology prefix, with the group
    separator as itself or as ``~``, ``^]``, ``<GS>``, ``{GS}``), Digital Link addresses, HIBC and
    ISBT 128. ``today`` settles the century of two-figure years.

    What no reader can tell: a lot that swallowed the next field because the scanner sends no group
    separator, and in GS1 a letter y or z exchanged by a keyboard layout.

    Raises
    ------
    ScanProblem
        Anything short of one whole code; nothing of it may then be booked.

    Examples
    --------
    >>> udi = read_udi("(01)09506000134352(17)250100(10)ABC", today=date(2024, 6, 1))
    >>> udi.di, udi.lot, udi.serial, udi.expiry.last_day.isoformat()
    ('09506000134352', 'ABC', None, '2025-01-31')
    """
    try:
        return _read(scans, today)
    except ScanProblem:
        layout = _other_layout(scans, today)
        if layout is None:
            raise
        found = f"the keys arrive through a {layout} keyboard layout, it seems"
        raise ScanProblem("scan", found, _LAYOUT_MEND) from None


def _read(scans: Sequence[str], today: date) -> Udi:
    raw = "\n".join(scans)
    texts = [_clean(scan) for scan in scans]
    agencies = {_agency(text) for text in texts}
    if len(agencies) != 1:
        found = "no code" if not agencies else "codes of different agencies in one go"
        raise ScanProblem("scan", found, "scan one pack at a time")
    udi = _udi(agencies.pop(), texts, raw, today)
    _refuse_expiry_before_making(udi)
    return udi


def _udi(agency: Agency, texts: list[str], raw: str, today: date) -> Udi:
    if agency is Agency.GS1:
        elements = [element for text in texts for element in _elements(text)]
        return gs1_udi(tuple(elements), raw=raw, today=today)
    bare = [_without_prefix(text) for text in texts]
    if agency is Agency.HIBCC:
        return hibc_udi(bare, raw=raw, today=today)
    return iccbba_udi("".join(bare), raw=raw, today=today)


def _refuse_expiry_before_making(udi: Udi) -> None:
    made, expiry = udi.manufactured, udi.expiry
    if made is None or expiry is None:
        return
    if expiry.last_day < date(made.year, made.month, made.day or 1):
        found = f"{expiry} lies before the manufacturing date {made}"
        raise ScanProblem("expiry", found, "check both on the pack, then scan again")


def _clean(scan: str) -> str:
    # Not strip(): the check character of HIBC may be a space, and \x1d counts as white space.
    text = scan.strip("\r\n\t").lstrip(" ")
    if re.search(r"[\r\n]", text):
        raise ScanProblem("scan", "two scans were run together", "scan one pack at a time")
    if not text.strip(f" {GROUP_SEPARATOR}"):
        raise ScanProblem("scan", "it is empty", "scan the code again")
    if len(text) > LONGEST_SCAN:
        found = f"{len(text)} characters, too many for one code"
        raise ScanProblem("scan", found, "scan one pack at a time")
    if _PREFIX.search(text, 1):
        found = "a second symbology prefix: two scans were run together"
        raise ScanProblem("scan", found, "scan one pack at a time")
    if text[:2] in {"]D", "]c", "]q", "]j"}:
        found = f"the prefix {text[:3]} has its case turned round"
        raise ScanProblem("scan", found, "release caps lock, then scan again")
    return text


def _agency(text: str) -> Agency:
    strange = re.search(r"[^\x1d -~␝]", text)
    if strange:
        raise ScanProblem("scan", f"{strange[0]!r} is in no device code", _LAYOUT_MEND)
    body = _without_prefix(text)
    if body.lstrip("*").startswith("+"):
        return Agency.HIBCC
    return Agency.ICCBBA if body.startswith(("=", "&")) else Agency.GS1


def _without_prefix(text: str) -> str:
    match = _PREFIX.match(text)
    return text[match.end() :] if match else text


def _elements(text: str) -> tuple[Element, ...]:
    bare = _BARE_GTIN.fullmatch(text.rstrip())
    if bare:
        return (Element(ai="01", value=checked_gtin(bare[1])),)
    body = _without_prefix(text)
    if re.match(r"https?://", body, re.IGNORECASE):
        return gs1_elements(body.rstrip(" "))
    return gs1_elements(_SEPARATORS.sub(GROUP_SEPARATOR, body).strip(f" {GROUP_SEPARATOR}"))


def _other_layout(scans: Sequence[str], today: date) -> str | None:
    """The layout whose keys, put back, give a code that the scan as it came does not."""
    for layout in LAYOUTS:
        texts = [typed_as_us(scan.strip("\r\n\t "), layout) for scan in scans]
        changed = any(text != scan for text, scan in zip(texts, scans, strict=True))
        if changed and (_reads(texts, today) or _starts_only_so(scans, texts)):
            return layout
    return None


def _reads(texts: Sequence[str], today: date) -> bool:
    try:
        _read(texts, today)
    except ScanProblem:
        return False
    return True


def _starts_only_so(scans: Sequence[str], texts: Sequence[str]) -> bool:
    """No scan begins as a device code does, and with the keys put back all of them do."""
    return not any(_STARTS.match(scan) for scan in scans) and all(map(_STARTS.match, texts))
