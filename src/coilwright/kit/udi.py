"""What a device's bar code says: its identifier, and its lot, serial number and dates if stated."""

import calendar
from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class Agency(StrEnum):
    """Who issues the identifier: the three agencies of FDA, UDI formats by issuing agency, v1.3."""

    GS1 = "GS1"
    HIBCC = "HIBCC"
    ICCBBA = "ICCBBA"


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedDate:
    """A date as a pack states it: to the month, to the day or to the hour."""

    year: int
    month: int
    day: int | None = None
    hour: int | None = None

    def __post_init__(self) -> None:
        date(self.year, self.month, 1 if self.day is None else self.day)
        if self.hour is not None and (self.day is None or not 0 <= self.hour <= 23):
            raise ValueError(f"no such hour: {self.hour}")

    @property
    def last_day(self) -> date:
        """The last day that the statement covers: of a month, its last.

        References
        ----------
        GS1 General Specifications, expiration date AI (17): day 00 is the last day of the month.

        Examples
        --------
        >>> StatedDate(year=2021, month=3).last_day
        datetime.date(2021, 3, 31)
        """
        month_end = calendar.monthrange(self.year, self.month)[1]
        return date(self.year, self.month, month_end if self.day is None else self.day)

    def __str__(self) -> str:
        text = f"{self.year:04d}-{self.month:02d}"
        if self.day is not None:
            text += f"-{self.day:02d}"
        return text if self.hour is None else f"{text} hour {self.hour:02d}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Udi:
    """One device as scanned. What the scan did not state is None, never a default.

    ``di`` is the device identifier: the GTIN in fourteen figures (GS1); labeller, product and unit
    of measure (HIBCC); the product code (ICCBBA). ``others`` are the further statements as
    (identifier, text). ``raw`` is what came from the scanner, several scans joined by a line end.
    """

    agency: Agency
    di: str
    raw: str
    lot: str | None = None
    serial: str | None = None
    expiry: StatedDate | None = None
    best_before: StatedDate | None = None
    manufactured: StatedDate | None = None
    others: tuple[tuple[str, str], ...] = ()
