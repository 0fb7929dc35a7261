"""What might still run down after each way of closing: in bands, for comparing options alone.

Laminar network flow with hydrostatic head, before and after, over draws of the calibres and of
channels that nobody saw. Every option meets the same draws. It is never a result nor a reason to
stop (practitioner's review, truth and safety 8). That a closed vein may open again is left out: no
published figure for it was found.
"""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import permutations

import numpy as np
import numpy.typing as npt

from coilwright.advice import Advisory
from coilwright.planning.hydrostatic_head import Column, blood_of, driving_mmhg
from coilwright.planning.look_here import LookHere, Stretch, look_here, stretches_of
from coilwright.planning.reflux_advice import RefluxFindings, advise_reflux
from coilwright.planning.reflux_network import RefluxNetwork, reflux_network
from coilwright.planning.reflux_solving import DrawnReflux, DrawTask, drawn_reflux
from coilwright.planning.residual_band import BANDS, residual_band
from coilwright.planning.unseen_channels import prior_of
from coilwright.protocol import Protocol
from coilwright.veins.vein_network import VeinNetwork

Array = npt.NDArray[np.float64]

# Shares nearer than this differ by rounding alone: the order of removal is each option's own.
_SAME_SHARE = 1e-9
# A vein is named as beyond the laminar model where that is so in more draws than one in twenty.
_OFTEN = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class BandShare:
    """The share of draws, 0 to 1, in which an option leaves this band."""

    band: str
    share_of_draws: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionReflux:
    """What one option might leave.

    ``beyond_laminar`` names the open veins whose flow is often too fast for the model.
    ``look_here`` is worst first.
    """

    option: str
    closed: tuple[str, ...]
    bands: tuple[BandShare, ...]
    look_here: tuple[LookHere, ...]
    beyond_laminar: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PairedOptions:
    """In which share of the draws ``option`` leaves less than ``other``, and in which the same."""

    option: str
    other: str
    leaves_less: float
    leaves_the_same: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ResidualComparison:
    """Every option on the same draws, in the order given, and what has to be said about them."""

    options: tuple[OptionReflux, ...]
    pairs: tuple[PairedOptions, ...]
    beyond_laminar_before: tuple[str, ...]
    draws: int
    advisories: tuple[Advisory, ...]


def compare_residual(
    network: VeinNetwork,
    options: Mapping[str, frozenset[str]],
    protocol: Protocol,
    *,
    column: Column,
    scale_relative_sd: float,
    draws: int,
    generator: np.random.Generator,
) -> ResidualComparison:
    """Compare options, each the set of veins that it shuts, by what they might leave.

    ``scale_relative_sd`` is the scale's relative standard deviation, common to all veins:
    calibration, depth and catheter tolerance together. The same seed gives the same answer.

    Raises
    ------
    ValueError
        No option, one that shuts a vein that is not there or must stay open, fewer than one draw,
        or a standard deviation that is negative or not finite.
    """
    _check(network, options, scale_relative_sd, draws)
    reflux = reflux_network(network, protocol.limit("unseen-channel-length-ratio").value)
    task = DrawTask(
        reflux=reflux,
        options=tuple(options.values()),
        prior=prior_of(protocol),
        blood=blood_of(protocol),
        laminar_max=protocol.limit("laminar-reynolds-max").value,
        scale_relative_sd=scale_relative_sd,
    )
    drives = driving_mmhg(column, protocol, generator.standard_normal(draws))
    drawn = drawn_reflux(task, drives, generator)
    fast = tuple(_often_fast(reflux, row) for row in drawn.too_fast)
    answers = tuple(_answers(task, options, drawn, fast[1:]))
    findings = RefluxFindings(
        column=column,
        draws=draws,
        scale_relative_sd=scale_relative_sd,
        beyond_laminar=tuple(sorted({id for veins in fast for id in veins})),
        upward_share=float(np.mean(drives <= 0.0)),
        nothing_runs=Stretch.OPEN not in stretches_of(network, frozenset()).values(),
        look_here={one.option: one.look_here for one in answers},
    )
    return ResidualComparison(
        options=answers,
        pairs=tuple(_pairs(tuple(options), drawn.shares)),
        beyond_laminar_before=fast[0],
        draws=draws,
        advisories=tuple(advise_reflux(findings, protocol)),
    )


def _answers(
    task: DrawTask,
    options: Mapping[str, frozenset[str]],
    drawn: DrawnReflux,
    fast: tuple[tuple[str, ...], ...],
) -> Iterator[OptionReflux]:
    for (name, shut), shares, often in zip(options.items(), drawn.shares, fast, strict=True):
        yield OptionReflux(
            option=name,
            closed=tuple(sorted(shut)),
            bands=band_shares(shares),
            look_here=look_here(task.reflux, shut, task.prior.median_calibre_mm),
            beyond_laminar=often,
        )


def band_shares(shares: Array) -> tuple[BandShare, ...]:
    """Every band, least first, with the share of the draws that fall in it."""
    found = Counter(residual_band(share) for share in shares.tolist())
    return tuple(BandShare(band=band, share_of_draws=found[band] / len(shares)) for band in BANDS)


def _pairs(names: tuple[str, ...], shares: Array) -> Iterator[PairedOptions]:
    for one, other in permutations(range(len(names)), 2):
        difference = shares[one] - shares[other]
        same = np.abs(difference) <= _SAME_SHARE * np.maximum(shares[one], shares[other])
        yield PairedOptions(
            option=names[one],
            other=names[other],
            leaves_less=float(np.mean((difference < 0.0) & ~same)),
            leaves_the_same=float(np.mean(same)),
        )


def _often_fast(reflux: RefluxNetwork, shares: Array) -> tuple[str, ...]:
    return tuple(v.id for v, share in zip(reflux.veins, shares, strict=True) if share > _OFTEN)


def _check(
    network: VeinNetwork,
    options: Mapping[str, frozenset[str]],
    scale_relative_sd: float,
    draws: int,
) -> None:
    if not options:
        raise ValueError("a comparison needs at least one option")
    if draws < 1:
        raise ValueError(f"a comparison needs at least one draw, got {draws}")
    if not 0.0 <= scale_relative_sd < 1.0:
        raise ValueError(f"the scale's relative deviation must be 0 to 1, got {scale_relative_sd}")
    may_close = {vein.id: vein.may_occlude for vein in network.veins}
    for name, shut in options.items():
        for id in sorted(shut):
            if id not in may_close:
                raise ValueError(f"option {name} shuts {id}, which is no vein of the network")
            if not may_close[id]:
                raise ValueError(f"option {name} shuts {id}, which must stay open")
