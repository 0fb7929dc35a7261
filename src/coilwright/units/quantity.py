"""A number with its unit, read from what a person typed. Without a unit there is no quantity."""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from coilwright.units.unit_table import QuantityKind, unit_of, written_units

_TYPED = re.compile(
    r"\s*(?P<number>[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+(?=\s))?)\s*(?P<unit>.*)"
)
_COMMA = re.compile(r"\s*[+-]?\d+,\d+")
_SHOWN_CHARACTERS = 24


class QuantityProblem(ValueError):
    """What was typed is not a quantity of the kind that is needed.

    ``found`` and ``mend`` are the two halves of the sentence shown to the person.
    """

    def __init__(self, found: str, mend: str) -> None:
        self.found, self.mend = found, mend
        super().__init__(found, mend)

    def __str__(self) -> str:
        return f"{self.found}; {self.mend}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A number in a unit of its kind, kept as it was stated."""

    value: float
    unit: str
    kind: QuantityKind

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            raise ValueError("a quantity must be finite")
        if unit_of(self.kind, self.unit) is None:
            raise ValueError(f"{self.unit} is no unit of {self.kind}")

    def __str__(self) -> str:
        return f"{self.value:.10g} {self.unit}"

    def to(self, unit: str) -> float:
        """The number in another unit of the same kind.

        Raises
        ------
        ValueError
            The unit is not of this kind.

        Examples
        --------
        >>> parse_quantity("1.2 mg/dL", QuantityKind.CREATININE).to("umol/L")
        106.08
        """
        own, other = unit_of(self.kind, self.unit), unit_of(self.kind, unit)
        if own is None or other is None:
            raise ValueError(f"{unit} is no unit of {self.kind}")
        return self.value if own is other else self.value * own.factor / other.factor


def parse_quantity(typed: object, kind: QuantityKind) -> Quantity:
    """A quantity from "90 umol/L" or {value = 90, unit = "umol/L"}.

    Raises
    ------
    QuantityProblem
        No unit, a unit of another kind, no number, or not finite. The unit is never guessed.

    Examples
    --------
    >>> parse_quantity("90 µmol/l", QuantityKind.CREATININE)
    Quantity(value=90.0, unit='umol/L', kind=<QuantityKind.CREATININE: 'creatinine'>)
    """
    value, spelled = _number_and_unit(typed, kind)
    unit = unit_of(kind, spelled)
    if unit is None:
        found = f'unit "{_shown(spelled)}" is not one for a {kind}'
        raise QuantityProblem(found, f"use {_listed(kind)}")
    return Quantity(value=value, unit=unit.written, kind=kind)


def _number_and_unit(typed: object, kind: QuantityKind) -> tuple[float, str]:
    if isinstance(typed, Mapping):
        return _from_table(typed, kind)
    if isinstance(typed, bool) or not isinstance(typed, str | int | float):
        raise QuantityProblem("not a quantity", _example(kind))
    if not isinstance(typed, str):
        _require_finite(typed)
        raise QuantityProblem(f"{_shown(f'{typed}')} has no unit", _add_unit(kind))
    return _from_text(typed, kind)


def _from_table(typed: Mapping[object, object], kind: QuantityKind) -> tuple[float, str]:
    value, unit = typed.get("value"), typed.get("unit")
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise QuantityProblem("the table has no number as value", _example(kind))
    _require_finite(value)
    if not isinstance(unit, str) or not unit.strip():
        raise QuantityProblem(f"{_shown(f'{value}')} has no unit", _add_unit(kind))
    return float(value), unit


def _from_text(typed: str, kind: QuantityKind) -> tuple[float, str]:
    if _COMMA.match(typed):
        raise QuantityProblem(f'"{_shown(typed)}" has a comma', "write a point for the decimals")
    match = _TYPED.fullmatch(typed)
    if match is None:
        raise QuantityProblem(f'"{_shown(typed)}" has no number', _example(kind))
    number, unit = match["number"], match["unit"].strip()
    if not unit:
        raise QuantityProblem(f'"{_shown(typed)}" has no unit', _add_unit(kind))
    value = float(number)
    _require_finite(value)
    return value, unit


def _require_finite(value: float) -> None:
    try:
        finite = math.isfinite(value)
    except OverflowError:  # a whole number beyond the range of a float
        finite = False
    if not finite:
        raise QuantityProblem("the value is not finite", "give a number")


def _add_unit(kind: QuantityKind) -> str:
    return f"add its unit ({_listed(kind)})"


def _example(kind: QuantityKind) -> str:
    return f"give a number and its unit ({_listed(kind)})"


def _listed(kind: QuantityKind) -> str:
    units = written_units(kind)
    return units[0] if len(units) == 1 else f"{', '.join(units[:-1])} or {units[-1]}"


def _shown(typed: str) -> str:
    text = " ".join(typed.split())
    return text if len(text) <= _SHOWN_CHARACTERS else f"{text[:_SHOWN_CHARACTERS]}..."
