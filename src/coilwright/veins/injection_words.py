"""How a run was injected, in words: what nobody said is named, never filled in."""

from coilwright.veins.runs import Conditions

NOT_RECORDED = "not recorded"


def injection_words(conditions: Conditions) -> str:
    """One line on tip, dose, Valsalva, tilt and breath.

    Examples
    --------
    >>> stated = Conditions(tip_site="ostium", volume_ml=8.0, valsalva=True, tilt_deg=0.0)
    >>> injection_words(stated)
    'tip ostium, 8 mL at not recorded, with Valsalva, tilt 0 degrees, breath not recorded'
    """
    valsalva = {True: "with Valsalva", False: "without Valsalva", None: f"Valsalva {NOT_RECORDED}"}
    breath = conditions.breath_phase or NOT_RECORDED
    return (
        f"tip {conditions.tip_site or NOT_RECORDED}, {_amount(conditions.volume_ml, 'mL')} at "
        f"{_amount(conditions.rate_ml_per_s, 'mL/s')}, {valsalva[conditions.valsalva]}, tilt "
        f"{_amount(conditions.tilt_deg, 'degrees')}, breath {breath}"
    )


def _amount(value: float | None, unit: str) -> str:
    return NOT_RECORDED if value is None else f"{value:.3g} {unit}"
