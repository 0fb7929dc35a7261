"""Filtration rate from creatinine: two equations for adults, one formula for children."""

from coilwright.assessment.facts import Sex

ADULT_FROM_YEARS = 18


def ckd_epi_2021(*, creatinine_mg_per_dl: float, age_years: float, sex: Sex) -> float:
    """Estimated filtration rate of an adult in mL/min/1.73 m2.

    Raises
    ------
    ValueError
        The creatinine is not positive, or the age is below 18, which the equation does not cover.

    References
    ----------
    Inker LA et al., N Engl J Med 2021;385:1737-1749: 142 x min(Scr/k, 1)^a x max(Scr/k, 1)^-1.200
    x 0.9938^age, and x 1.012 for women; k 0.7 and a -0.241 for women, 0.9 and -0.302 for men.

    Examples
    --------
    >>> round(ckd_epi_2021(creatinine_mg_per_dl=1.0, age_years=30, sex=Sex.MALE), 2)
    103.84
    """
    _require_adult(creatinine_mg_per_dl, age_years)
    female = sex is Sex.FEMALE
    kappa, alpha = (0.7, -0.241) if female else (0.9, -0.302)
    ratio = creatinine_mg_per_dl / kappa
    egfr: float = 142.0 * min(ratio, 1.0) ** alpha * max(ratio, 1.0) ** -1.200 * 0.9938**age_years
    return egfr * 1.012 if female else egfr


def ckd_epi_2009(
    *, creatinine_mg_per_dl: float, age_years: float, sex: Sex, female_factor: float = 1.018
) -> float:
    """Estimated filtration rate of an adult in mL/min/1.73 m2 by the older equation.

    Its factor for race is withdrawn and not offered.

    Raises
    ------
    ValueError
        The creatinine is not positive, or the age is below 18, which the equation does not cover.

    References
    ----------
    Levey AS et al., Ann Intern Med 2009;150:604-612: 141 x min(Scr/k, 1)^a x max(Scr/k, 1)^-1.209
    x 0.993^age, and x 1.018 for women (from memory); k 0.7 and a -0.329 for women, 0.9 and -0.411
    for men. The piecewise table of BMC Geriatrics 2021, table 1, is the same for men and prints 144
    for women, where 141 x 1.018 is 143.5.

    Examples
    --------
    >>> round(ckd_epi_2009(creatinine_mg_per_dl=1.0, age_years=30, sex=Sex.MALE), 2)
    100.55
    """
    _require_adult(creatinine_mg_per_dl, age_years)
    female = sex is Sex.FEMALE
    kappa, alpha = (0.7, -0.329) if female else (0.9, -0.411)
    ratio = creatinine_mg_per_dl / kappa
    egfr: float = 141.0 * min(ratio, 1.0) ** alpha * max(ratio, 1.0) ** -1.209 * 0.993**age_years
    return egfr * female_factor if female else egfr


def schwartz_bedside(*, creatinine_mg_per_dl: float, height_cm: float, coefficient: float) -> float:
    """Estimated filtration rate of a child in mL/min/1.73 m2: coefficient x height / creatinine.

    Raises
    ------
    ValueError
        The creatinine or the height is not positive.

    References
    ----------
    Schwartz GJ et al., J Am Soc Nephrol 2009 (coefficient 0.413, from memory).
    """
    if creatinine_mg_per_dl <= 0 or height_cm <= 0:
        raise ValueError("the formula needs a positive creatinine and height")
    return coefficient * height_cm / creatinine_mg_per_dl


def _require_adult(creatinine_mg_per_dl: float, age_years: float) -> None:
    if creatinine_mg_per_dl <= 0 or age_years < ADULT_FROM_YEARS:
        raise ValueError("the equation needs a positive creatinine and an age of 18 or more")
