"""The check digit of a GTIN, the usual device identifier in a UDI."""

GTIN_DIGITS = 14


def gtin_check_digit(digits: str) -> int:
    """Check digit that belongs behind ``digits`` (the GTIN without its last figure).

    Raises
    ------
    ValueError
        Something other than the figures 0 to 9.

    References
    ----------
    GS1 General Specifications, check digit for data structures: from the right, weights 3, 1,
    3, ... and the distance to the next ten.

    Examples
    --------
    >>> gtin_check_digit("629104150021")
    3
    """
    if not (digits.isascii() and digits.isdigit()):
        raise ValueError(f"a GTIN is written in figures only, got {digits!r}")
    thrice, once = digits[::-2], digits[-2::-2]
    return -(3 * sum(map(int, thrice)) + sum(map(int, once))) % 10


def is_gtin_14(text: str) -> bool:
    """True for fourteen figures whose last is the right check digit."""
    figures_only = text.isascii() and text.isdigit() and len(text) == GTIN_DIGITS
    return figures_only and gtin_check_digit(text[:-1]) == int(text[-1])
