"""Serum creatinine in the two units that laboratories report."""

UMOL_PER_L_PER_MG_PER_DL = 88.4


def creatinine_mg_per_dl(creatinine_umol_per_l: float) -> float:
    """Creatinine in mg/dL of a value in umol/L.

    References
    ----------
    Division by 88.4: BMC Geriatrics 2021, table 1 (CLINICAL.md 5.2).

    Examples
    --------
    >>> creatinine_mg_per_dl(88.4)
    1.0
    """
    return creatinine_umol_per_l / UMOL_PER_L_PER_MG_PER_DL


def creatinine_umol_per_l(creatinine_mg_per_dl: float) -> float:
    """Creatinine in umol/L of a value in mg/dL.

    Examples
    --------
    >>> round(creatinine_umol_per_l(1.2), 1)
    106.1
    """
    return creatinine_mg_per_dl * UMOL_PER_L_PER_MG_PER_DL
