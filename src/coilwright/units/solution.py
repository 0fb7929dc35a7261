"""Strength of a solution: per cent weight in volume, and mg in a millilitre."""

MG_PER_ML_PER_PERCENT = 10.0


def percent_to_mg_per_ml(strength_percent: float) -> float:
    """Strength in mg/mL of a solution in per cent weight in volume.

    References
    ----------
    1 % w/v is 1 g in 100 mL, so 10 mg/mL (CLINICAL.md 5.1).

    Examples
    --------
    >>> percent_to_mg_per_ml(2.0)
    20.0
    """
    return strength_percent * MG_PER_ML_PER_PERCENT


def mg_per_ml_to_percent(strength_mg_per_ml: float) -> float:
    """Strength in per cent weight in volume of a solution in mg/mL.

    Examples
    --------
    >>> mg_per_ml_to_percent(30.0)
    3.0
    """
    return strength_mg_per_ml / MG_PER_ML_PER_PERCENT
