"""Age on a day."""

import datetime as dt


def age_years(birth_date: dt.date, on: dt.date) -> int:
    """Completed years on a day; who was born on 29 February turns older on 1 March.

    Raises
    ------
    ValueError
        The day lies before the birth.

    Examples
    --------
    >>> age_years(dt.date(1994, 9, 3), dt.date(2026, 3, 12))
    31
    """
    if on < birth_date:
        raise ValueError("the day lies before the birth")
    had_birthday = (on.month, on.day) >= (birth_date.month, birth_date.day)
    return on.year - birth_date.year - (0 if had_birthday else 1)


def age_on_the_day(birth_date: dt.date | None, on: dt.date) -> int | None:
    """Completed years, or None where the birth date is unknown or lies after the day."""
    if birth_date is None or birth_date > on:
        return None
    return age_years(birth_date, on)
