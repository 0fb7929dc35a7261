"""The inch, in which wires and lumens are labelled."""

MM_PER_INCH = 25.4


def inch_to_mm(length_inch: float) -> float:
    """Length in millimetres of a length in inches (25.4 by definition since 1959).

    Examples
    --------
    >>> round(inch_to_mm(0.035), 4)
    0.889
    """
    return length_inch * MM_PER_INCH


def mm_to_inch(length_mm: float) -> float:
    """Length in inches of a length in millimetres.

    Examples
    --------
    >>> round(mm_to_inch(0.4572), 3)
    0.018
    """
    return length_mm / MM_PER_INCH
