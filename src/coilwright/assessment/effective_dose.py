"""Effective dose from the kerma-area product: a range over published coefficients, never a number.

It compares procedures in populations; it is not the risk of one patient.
"""

from collections.abc import Iterable

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.facts import Facts
from coilwright.protocol import Limit, Protocol, advise

EFFECTIVE_DOSE_RULE = "effective-dose"
COEFFICIENTS = ("lowest", "abdomen", "pelvis")


def effective_dose_msv(kap_gy_cm2: float, coefficient_msv_per_gy_cm2: float) -> float:
    """Effective dose in mSv of a kerma-area product in Gy.cm2 by one coefficient.

    Examples
    --------
    >>> round(effective_dose_msv(106.24, 0.26), 1)
    27.6
    """
    return kap_gy_cm2 * coefficient_msv_per_gy_cm2


def effective_dose(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """The range of effective dose once a kerma-area product is recorded.

    Where it is not, ``radiation-kap`` names it and says that this cannot be estimated either.
    """
    radiation = facts.given.radiation
    if radiation is None or radiation.kap_gy_cm2 is None:
        return ()
    kap_gy_cm2 = radiation.kap_gy_cm2
    limits = {name: protocol.limit(f"effective-dose-{name}-coefficient") for name in COEFFICIENTS}
    between = effective_dose_range_msv(kap_gy_cm2, limits.values())
    copper = protocol.limit("effective-dose-copper-factor")
    inputs = {"kerma-area product": f"{kap_gy_cm2:.5g} Gy.cm2"}
    for name, limit in limits.items():
        dose_msv = effective_dose_msv(kap_gy_cm2, limit.value)
        inputs[f"at {limit.value:.2f} {limit.unit} ({name})"] = f"{dose_msv:.1f} mSv"
    return (
        advise(
            rule=EFFECTIVE_DOSE_RULE,
            urgency=Urgency.INFO,
            text=f"Effective dose somewhere from {between[0]:.1f} to {between[1]:.1f} mSv, by the "
            "coefficient taken; with extra copper filtration up to "
            f"{copper.value:g} times that at the same kerma-area product, and the filter is not "
            "recorded. It compares procedures in populations and is not the risk of one patient.",
            basis=(*limits.values(), copper),
            between=between,
            unit="mSv",
            inputs=inputs,
            judges=False,
        ),
    )


def effective_dose_range_msv(
    kap_gy_cm2: float, coefficients: Iterable[Limit]
) -> tuple[float, float]:
    """Lowest and highest effective dose in mSv over several coefficients."""
    doses = [effective_dose_msv(kap_gy_cm2, coefficient.value) for coefficient in coefficients]
    return min(doses), max(doses)
