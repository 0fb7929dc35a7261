"""Dates as bar codes write them, and the century that two figures stand for."""

from datetime import date, timedelta

from coilwright.kit.udi import StatedDate
from coilwright.kit.udi_problem import ScanProblem

_MEND = "check the date on the pack, then scan again or type it by hand"


def full_year(two_figures: int, today: date) -> int:
    """The year that two figures mean on the day of reading.

    References
    ----------
    GS1 General Specifications 7.12, century in dates: 51 to 99 years ahead is the century before,
    50 to 99 years back the one after, all else this one.

    Examples
    --------
    >>> full_year(76, date(2026, 1, 1)), full_year(77, date(2026, 1, 1))
    (2076, 1977)
    """
    century, this_year = divmod(today.year, 100)
    ahead = two_figures - this_year
    if ahead >= 51:
        century -= 1
    elif ahead <= -50:
        century += 1
    return century * 100 + two_figures


def stated_date(
    field: str, *, year: int, month: int, day: int | None = None, hour: int | None = None
) -> StatedDate:
    """A date of ``field``, or a refusal that names the impossible part."""
    try:
        return StatedDate(year=year, month=month, day=day, hour=hour)
    except ValueError:
        parts = f"year {year}, month {month:02d}"
        parts += "" if day is None else f", day {day:02d}"
        parts += "" if hour is None else f", hour {hour:02d}"
        raise ScanProblem(field, f"there is no such date as {parts}", _MEND) from None


def stated_day_of_year(
    field: str, *, year: int, day_of_year: int, hour: int | None = None
) -> StatedDate:
    """A date of ``field`` from the day's number in its year (1 January is 1)."""
    day = date(year, 1, 1) + timedelta(days=day_of_year - 1)
    if day.year != year:
        raise ScanProblem(field, f"the year {year} has no day {day_of_year:03d}", _MEND)
    return stated_date(field, year=year, month=day.month, day=day.day, hour=hour)


def figures(field: str, text: str, count: int) -> str:
    """The first ``count`` characters, which must be figures."""
    head = text[:count]
    if len(head) < count or not (head.isascii() and head.isdigit()):
        found = f"{count} figures were needed and {head!r} was found"
        raise ScanProblem(field, found, "scan the whole code again")
    return head
