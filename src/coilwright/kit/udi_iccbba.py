"""ISBT 128 codes of ICCBBA, for products of human origin and blood bags.

Data structures by their published examples; field lengths as restated by FDA, UDI formats by
issuing agency, v1.3 (2017).
"""

import re
from datetime import date

from coilwright.kit.udi import Agency, StatedDate, Udi
from coilwright.kit.udi_dates import stated_day_of_year
from coilwright.kit.udi_problem import ScanProblem

# The longer identifiers stand before those that begin alike.
_STRUCTURES: tuple[tuple[str, re.Pattern[str]], ...] = (
    ("product code", re.compile(r"=/([A-Z0-9]{16})")),
    ("container", re.compile(r"=\)([A-Z0-9]{10})")),
    ("container lot", re.compile(r"&\)([A-Z0-9]{10})")),
    ("serial", re.compile(r"=,([A-Z0-9]{6})")),
    ("expiry", re.compile(r"=>(\d{6})")),
    ("manufacturing date", re.compile(r"=\}(\d{6})")),
    ("lot", re.compile(r"&,1([A-Z0-9]{18})")),
    ("donation identification number", re.compile(r"=([A-Z1-9][A-Z0-9]{14})")),
)
_AGAIN = "scan the whole code again"


def is_iccbba_code(text: str) -> bool:
    """True for a product code of 16 characters or a container's of 10, with a letter in it."""
    return re.fullmatch(r"[A-Z0-9]{16}|[A-Z0-9]{10}", text) is not None and not text.isdecimal()


def iccbba_udi(text: str, *, raw: str, today: date) -> Udi:
    """The device that a compound ISBT 128 message states.

    Raises
    ------
    ScanProblem
        Part of a code, an unknown structure, two scans run together, an impossible date.
    """
    values = _structures(text)
    di = values.get("product code", values.get("container"))
    if di is None:
        found = "no product code, so no device: half a scan"
        raise ScanProblem("product code", found, "scan the pack's other code")
    donation = "donation identification number"
    return Udi(
        agency=Agency.ICCBBA,
        di=di,
        raw=raw,
        lot=values.get("lot", values.get("container lot")),
        serial=values.get("serial"),
        expiry=_date("expiry", values, today),
        manufactured=_date("manufacturing date", values, today),
        others=((donation, values[donation]),) if donation in values else (),
    )


def _structures(text: str) -> dict[str, str]:
    values: dict[str, str] = {}
    rest = text
    while rest:
        matches = ((name, pattern.match(rest)) for name, pattern in _STRUCTURES)
        name, match = next(((n, m) for n, m in matches if m), ("", None))
        if match is None:
            if re.search(r"[a-z]", rest):
                found = "lower-case letters, which this code never has"
                raise ScanProblem("scan", found, "release caps lock, then scan again")
            found = f"at {rest[:4]!r} the code breaks off or holds what is not known here"
            raise ScanProblem("data structure", found, _AGAIN)
        if name in values:
            raise ScanProblem(name, "it stands twice: two scans run together", _AGAIN)
        values[name], rest = match[1], rest[match.end() :]
    return values


def _date(field: str, values: dict[str, str], today: date) -> StatedDate | None:
    """Date as cYYJJJ: the figure of the century, the year in it, the day of the year."""
    if field not in values:
        return None
    text = values[field]
    year = int(text[:3]) + (1000 if text[0] == "9" else 2000)
    if abs(year - today.year) > 100:
        raise ScanProblem(field, f"the year {year} cannot be meant", _AGAIN)
    return stated_day_of_year(field, year=year, day_of_year=int(text[3:6]))
