"""Do these devices fit: the pair that fails, by how much, and what in the kit would do."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from coilwright.kit.chain import Chain, chain_of, exchanges_of
from coilwright.kit.comparison import Comparison, Trial
from coilwright.kit.device import Device
from coilwright.kit.kit import Kit
from coilwright.kit.pair_fit import PairFit
from coilwright.kit.swaps import Mend, Swaps
from coilwright.protocol import Protocol


class ChainVerdict(StrEnum):
    """What the labels say of the whole chain."""

    FITS = "fits"
    DOES_NOT_FIT = "does-not-fit"
    CANNOT_BE_TOLD = "cannot-be-told"


@dataclass(frozen=True, slots=True, kw_only=True)
class FailingPair:
    """A pair that fails, by how many millimetres (null for a wrong end), and what would do."""

    pair: PairFit
    short_by_mm: float | None
    mends: tuple[Mend, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FitAnswer:
    """The whole chain compared.

    ``limits_stand`` is false where a pass rests on a limit from memory that the site has not signed
    off: then "fits" is not shown as satisfied.
    ``read_off`` is what to read off which label before the rest can be told; ``not_checked`` is
    what no named device answers; ``exchanges`` do not decide the verdict.
    """

    devices: tuple[str, ...]
    verdict: ChainVerdict
    limits_stand: bool
    text: str
    pairs: tuple[PairFit, ...]
    failing: tuple[FailingPair, ...]
    read_off: tuple[str, ...]
    not_checked: tuple[str, ...]
    exchanges: tuple[PairFit, ...]


def fits(
    devices: Sequence[Device],
    kit: Kit,
    protocol: Protocol,
    *,
    on: date | None = None,
    in_body_cm: float | None = None,
) -> FitAnswer:
    """Whether these devices fit through one another, compared on labelled values alone.

    ``on`` leaves what has expired by that day out of what would do (null: expiry not judged).
    ``in_body_cm`` is the length from skin to tip, for exchanges alone.
    """
    compare = Comparison(protocol)
    chain = chain_of(devices, compare)
    shelf = [device for device in kit if device.usable(on)]
    swaps = Swaps(chain, shelf, Trial(protocol))
    failing = tuple(
        FailingPair(
            pair=pair,
            short_by_mm=None if pair.margin_mm is None else abs(pair.margin_mm),
            mends=swaps.mends(pair),
        )
        for pair in chain.pairs
        if pair.fails
    )
    read_off = (pair.read_off for pair in chain.pairs if pair.read_off is not None)
    verdict = _verdict(chain)
    return FitAnswer(
        devices=tuple(device.id for device in chain.devices),
        verdict=verdict,
        limits_stand=all(pair.limit_stands for pair in chain.pairs),
        text=_words(verdict, chain),
        pairs=chain.pairs,
        failing=failing,
        read_off=tuple(dict.fromkeys(read_off)),
        not_checked=chain.not_checked,
        exchanges=exchanges_of(chain, compare, in_body_cm=in_body_cm),
    )


def _verdict(chain: Chain[PairFit]) -> ChainVerdict:
    if any(pair.fails for pair in chain.pairs):
        return ChainVerdict.DOES_NOT_FIT
    if not chain.pairs or not all(pair.passes for pair in chain.pairs):
        return ChainVerdict.CANNOT_BE_TOLD
    return ChainVerdict.FITS


def _words(verdict: ChainVerdict, chain: Chain[PairFit]) -> str:
    failing = [pair.text for pair in chain.pairs if pair.fails]
    silent = [pair.text for pair in chain.pairs if pair.read_off is not None]
    if verdict is ChainVerdict.DOES_NOT_FIT:
        return f"does not fit: {'; '.join(failing)}"
    if verdict is ChainVerdict.CANNOT_BE_TOLD:
        return "cannot be told: " + ("; ".join(silent) or "no two of these devices make a pair")
    unsigned = not all(pair.limit_stands for pair in chain.pairs)
    caution = " (partly by limits from memory, not signed off)" if unsigned else ""
    unchecked = "; not everything was checked" if chain.not_checked else ""
    return f"every labelled pair that was compared passes{caution}{unchecked}"
