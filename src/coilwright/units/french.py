"""The French scale of catheters and sheaths."""

MM_PER_FR = 1.0 / 3.0


def fr_to_mm(diameter_fr: float) -> float:
    """Diameter in millimetres of a French size (catheter: outer; sheath: inner).

    References
    ----------
    1 Fr = 1/3 mm: CLINICAL.md section 7, after a RadioGraphics exhibit on angiography equipment.

    Examples
    --------
    >>> round(fr_to_mm(5.0), 4)
    1.6667
    """
    return diameter_fr * MM_PER_FR


def mm_to_fr(diameter_mm: float) -> float:
    """French size of a diameter in millimetres.

    Examples
    --------
    >>> round(mm_to_fr(0.9652), 2)
    2.9
    """
    return diameter_mm / MM_PER_FR
