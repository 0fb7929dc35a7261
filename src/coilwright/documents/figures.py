"""How a figure reads: its unit beside it, and what is missing said in words, never as 0."""

from datetime import date

NOT_MEASURED = "not measured"
NOT_RECORDED = "not recorded"


def or_not_recorded(text: str | None) -> str:
    """A text as it stands, or that nobody recorded it."""
    return text.strip() if text and text.strip() else NOT_RECORDED


def day(value: date | None) -> str:
    """A date in ISO form, which reads the same everywhere."""
    return NOT_RECORDED if value is None else value.isoformat()


def amount(value: float | None, unit: str, *, missing: str = NOT_RECORDED) -> str:
    """A recorded quantity to three figures, with its unit.

    Examples
    --------
    >>> amount(21.4, "Gy.cm2")
    '21.4 Gy.cm2'
    >>> amount(None, "mL")
    'not recorded'
    """
    return missing if value is None else f"{_three_figures(value)} {unit}".rstrip()


def plain(value: float, unit: str) -> str:
    """A quantity as somebody wrote it, without zeros added.

    Examples
    --------
    >>> plain(1.0, "%")
    '1 %'
    """
    return f"{value:g} {unit}"


def calibre_mm(value: float | None, sd: float | None = None) -> str:
    """A calibre in mm to a tenth, with one standard deviation where it has one.

    Examples
    --------
    >>> calibre_mm(6.04, 0.36)
    '6.0 ± 0.4 mm'
    >>> calibre_mm(None)
    'not measured'
    """
    if value is None:
        return NOT_MEASURED
    return f"{value:.1f} mm" if sd is None else f"{value:.1f} ± {_sd(sd)} mm"


def at_least_mm(length_mm: float | None) -> str:
    """A projected length: a lower bound, and it says so.

    Examples
    --------
    >>> at_least_mm(203.6)
    'at least 204 mm'
    """
    return NOT_MEASURED if length_mm is None else f"at least {length_mm:.0f} mm"


def oversize(ratio: float) -> str:
    """Coil diameter over relaxed calibre, in words.

    Examples
    --------
    >>> oversize(1.333)
    '33 % over'
    >>> oversize(0.9)
    '10 % under'
    """
    percent = round(100 * (ratio - 1))
    if percent == 0:
        return "as wide as the vein"
    return f"{abs(percent)} % {'over' if percent > 0 else 'under'}"


def with_plus_minus(text: str) -> str:
    """A computed sentence with the sign that print has for it."""
    return text.replace("+-", "±")


def capital(text: str) -> str:
    """A sentence's first letter large, the rest untouched."""
    return text[:1].upper() + text[1:]


def _sd(sd: float) -> str:
    """Never 0.0: a small uncertainty is not none."""
    if sd < 0.005:
        return "under 0.01"
    return f"{sd:.1f}" if sd >= 0.095 else f"{sd:.2f}"


def _three_figures(value: float) -> str:
    """Three figures at least, no zeros added, never a power of ten.

    Examples
    --------
    >>> [_three_figures(v) for v in (451.73, 21.4, 9.6, 0.096, 0.0, 1234.0)]
    ['452', '21.4', '9.6', '0.096', '0', '1234']
    """
    size = abs(value)
    digits = 0 if size >= 100 else 1 if size >= 10 else 2 if size >= 1 else 3
    words = f"{value:.{digits}f}"
    return words.rstrip("0").rstrip(".") if "." in words else words
