"""One pair of devices compared: the verdict, what is left over, and whose word it rests on.

A margin is what is left over in millimetres: negative where the pair fails, by that much.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from coilwright.advice import Status
from coilwright.kit.device import Device
from coilwright.protocol import Basis, Citation

LABELS = Citation(
    source="labelled dimensions compared; 1 F = 1/3 mm, 1 inch = 25.4 mm", status=Status.COMPUTED
)
# Two labels of the same printed size are the same size, whatever the last bit of a product says.
SAME_MM = 1e-9


class FitVerdict(StrEnum):
    """What comparing two labels says."""

    PASSES = "passes"
    DOES_NOT_PASS = "does-not-pass"
    MAY_FOLD = "may-fold"
    TOO_SHORT = "too-short"
    WRONG_END = "wrong-end"
    NOT_LABELLED = "not-labelled"
    NOT_IN_KIT = "not-in-kit"


def _fails(verdict: FitVerdict) -> bool:
    return (
        verdict is not FitVerdict.PASSES
        and verdict is not FitVerdict.NOT_LABELLED
        and verdict is not FitVerdict.NOT_IN_KIT
    )


class Measured(NamedTuple):
    """The number part of a comparison, for the many pairs that are tried and never shown.

    ``margin_mm`` is as in ``PairFit``.
    """

    verdict: FitVerdict
    margin_mm: float | None

    @property
    def passes(self) -> bool:
        """See ``PairFit.passes``."""
        return self.verdict is FitVerdict.PASSES

    @property
    def fails(self) -> bool:
        """See ``PairFit.fails``."""
        return _fails(self.verdict)


UNREAD = Measured(FitVerdict.NOT_LABELLED, None)


@dataclass(frozen=True, slots=True, kw_only=True)
class PairFit:
    """One pair compared: ``inner`` in or behind ``outer`` (device ids, null if the kit has none).

    ``margin_mm`` is what is left over, negative by how much it fails, null where a label is
    silent; ``read_off`` then says what to read off which label. ``limit_stands`` is false where
    the verdict rests on a limit from memory that the site has not signed off: then a pass is not
    shown as a satisfied limit.
    """

    rule: str
    verdict: FitVerdict
    inner: str | None
    outer: str | None
    margin_mm: float | None
    text: str
    source: str
    status: Status
    limit_stands: bool = True
    read_off: str | None = None

    @property
    def passes(self) -> bool:
        """True for the one verdict that lets the pair be used."""
        return self.verdict is FitVerdict.PASSES

    @property
    def fails(self) -> bool:
        """True where the labels say that the pair cannot be used (a silent label says nothing)."""
        return _fails(self.verdict)


def compared(
    rule: str,
    verdict: FitVerdict,
    inner: Device,
    outer: Device,
    *,
    margin_mm: float | None,
    text: str,
    basis: Basis = LABELS,
) -> PairFit:
    """A pair whose labels were both read; an unsigned limit is said in its text."""
    stands = isinstance(basis, Citation) or basis.stands
    caution = "" if stands else " (by a limit from memory, not signed off)"
    return PairFit(
        rule=rule,
        verdict=verdict,
        inner=inner.id,
        outer=outer.id,
        margin_mm=margin_mm,
        text=text + caution,
        source=basis.source,
        status=basis.status,
        limit_stands=stands,
    )


def cannot_be_told(
    rule: str, inner: Device, outer: Device, missing: tuple[tuple[Device, str], ...]
) -> PairFit:
    """The pair of which a label is silent, with what to read off which label."""
    read_off = " and ".join(f"{what} off the label of {device.name}" for device, what in missing)
    return PairFit(
        rule=rule,
        verdict=FitVerdict.NOT_LABELLED,
        inner=inner.id,
        outer=outer.id,
        margin_mm=None,
        text=f"{inner.name} with {outer.name}: cannot be told; read {read_off}",
        source=LABELS.source,
        status=LABELS.status,
        read_off=read_off,
    )


def not_in_kit(rule: str, what: str) -> PairFit:
    """The pair that cannot be compared because the kit holds none of one kind."""
    return PairFit(
        rule=rule,
        verdict=FitVerdict.NOT_IN_KIT,
        inner=None,
        outer=None,
        margin_mm=None,
        text=f"no {what} in the kit that is on the shelf and in date: not checked",
        source=LABELS.source,
        status=LABELS.status,
    )
