"""The calibre of one vessel seen in two runs."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise
from math import ceil, hypot

from coilwright.veins.vessel_match import Nearest
from coilwright.veins.vessels import Narrowing, Vessel

# Apart by more than this many of their joint standard deviations, over at least this length, two
# calibres are two states of the vein.
DIFFERENT_SD = 2.0
SHORTEST_STATE_MM = 4.0
# A relaxed calibre is that of the same segment: long stretches are kept in pieces (judgement).
LONGEST_PIECE_MM = 15.0
# Samples of the two runs farther apart than this along the vessel are no pair.
NEAREST_SAMPLE_MM = 0.35
# A narrowing of unknown relaxed calibre is answered when so much of it was seen wider.
ANSWERED_SHARE = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pair:
    """Both runs' calibres at one sample, with the sd of each."""

    mine_mm: float
    mine_sd_mm: float
    other_mm: float
    other_sd_mm: float

    @property
    def joint_sd_mm(self) -> float:
        return hypot(self.mine_sd_mm, self.other_sd_mm)

    @property
    def differ(self) -> bool:
        return abs(self.mine_mm - self.other_mm) > DIFFERENT_SD * self.joint_sd_mm

    @property
    def weighted(self) -> tuple[float, float]:
        """Mean by inverse variance; its sd grows where the two scatter more than they should."""
        one, two = self.mine_sd_mm**-2, self.other_sd_mm**-2
        mean = (one * self.mine_mm + two * self.other_mm) / (one + two)
        excess = max(1.0, abs(self.mine_mm - self.other_mm) / self.joint_sd_mm)
        return mean, excess * (one + two) ** -0.5

    @property
    def narrower(self) -> tuple[float, float]:
        return min((self.mine_mm, self.mine_sd_mm), (self.other_mm, self.other_sd_mm))

    @property
    def wider(self) -> tuple[float, float]:
        return max((self.mine_mm, self.mine_sd_mm), (self.other_mm, self.other_sd_mm))


def both_calibres(
    mine: Vessel, other: Vessel, nearest: Sequence[Nearest], *, agree: bool | None
) -> Vessel:
    """The map's vessel with the calibre of both runs where both saw it.

    ``nearest`` says where each sample of ``other`` lies on ``mine``.
    ``agree`` is whether Valsalva and tilt were the same: then the weighted mean counts everywhere.
    Otherwise (None: not known) it counts where the two do not differ; where they do, the narrower
    is kept as measured and the wider as the relaxed calibre of a narrowing.
    """
    seen = _seen_by_other(mine, other, nearest)
    pairs = _pairs(mine, seen)
    two_states = [] if agree else _stretches(mine, pairs)
    in_two_states = {at for stretch in two_states for at in stretch}
    widths, sds = list(mine.diameter_mm), list(mine.diameter_sd_mm)
    for at, (other_mm, other_sd_mm) in seen.items():
        pair = pairs.get(at)
        width, sd = other_mm, other_sd_mm
        if pair is not None:
            width, sd = pair.narrower if at in in_two_states else pair.weighted
        widths[at], sds[at] = round(width, 4), round(sd, 4)
    narrowings = [piece for stretch in two_states for piece in _pieces(mine, pairs, stretch)]
    return replace(
        mine,
        diameter_mm=tuple(widths),
        diameter_sd_mm=tuple(sds),
        narrowings=_kept(mine.narrowings, narrowings),
    )


def _seen_by_other(
    mine: Vessel, other: Vessel, nearest: Sequence[Nearest]
) -> dict[int, tuple[float, float]]:
    """The other run's calibre and sd at the map's samples, from its nearest one beside them."""
    places = sorted(
        (place.arc_mm, width, sd)
        for place, width, sd in zip(nearest, other.diameter_mm, other.diameter_sd_mm, strict=True)
        if place.close and width is not None and sd is not None
    )
    arcs = [place[0] for place in places]
    found = {}
    for index, arc_mm in enumerate(mine.arc_mm):
        after = bisect_left(arcs, arc_mm)
        near = [at for at in (after - 1, after) if 0 <= at < len(arcs)]
        best = min(near, key=lambda at: abs(arcs[at] - arc_mm), default=None)
        if best is not None and abs(arcs[best] - arc_mm) <= NEAREST_SAMPLE_MM:
            found[index] = places[best][1:]
    return found


def _pairs(mine: Vessel, seen: dict[int, tuple[float, float]]) -> dict[int, _Pair]:
    pairs = {}
    for at, (other_mm, other_sd_mm) in seen.items():
        width, sd = mine.diameter_mm[at], mine.diameter_sd_mm[at]
        if width is not None and sd is not None:
            pairs[at] = _Pair(
                mine_mm=width, mine_sd_mm=sd, other_mm=other_mm, other_sd_mm=other_sd_mm
            )
    return pairs


def _stretches(mine: Vessel, pairs: dict[int, _Pair]) -> list[list[int]]:
    """Runs of samples at which the same one of the two is wider by more than chance."""

    def state(at: int) -> int:
        pair = pairs.get(at)
        if pair is None or not pair.differ:
            return 0
        return 1 if pair.mine_mm > pair.other_mm else -1

    groups = groupby(range(len(mine.arc_mm)), key=state)
    stretches = [list(items) for which, items in groups if which]
    return [s for s in stretches if mine.arc_mm[s[-1]] - mine.arc_mm[s[0]] >= SHORTEST_STATE_MM]


def _pieces(mine: Vessel, pairs: dict[int, _Pair], stretch: list[int]) -> list[Narrowing]:
    """Narrowings that cover a stretch, each with the widest calibre that either run saw in it."""
    start_mm, end_mm = mine.arc_mm[stretch[0]], mine.arc_mm[stretch[-1]]
    count = ceil((end_mm - start_mm) / LONGEST_PIECE_MM)
    bounds = [start_mm + (end_mm - start_mm) * i / count for i in range(count + 1)]
    pieces = []
    for low, high in pairwise(bounds):
        inside = [pairs[at].wider for at in stretch if low <= mine.arc_mm[at] <= high]
        width, sd = max(inside, default=(None, None))
        pieces.append(
            Narrowing(from_mm=low, to_mm=high, relaxed_diameter_mm=width, relaxed_sd_mm=sd)
        )
    return pieces


def _kept(before: tuple[Narrowing, ...], found: list[Narrowing]) -> tuple[Narrowing, ...]:
    """Narrowings of both; one whose relaxed calibre nobody knew goes where the other run knows."""

    def answered(narrowing: Narrowing) -> bool:
        covered_mm = sum(
            max(0.0, min(n.to_mm, narrowing.to_mm) - max(n.from_mm, narrowing.from_mm))
            for n in found
        )
        length_mm = narrowing.to_mm - narrowing.from_mm
        return narrowing.relaxed_diameter_mm is None and covered_mm >= ANSWERED_SHARE * length_mm

    kept = [narrowing for narrowing in before if not answered(narrowing)]
    return tuple(sorted([*kept, *found], key=lambda n: (n.from_mm, n.to_mm)))
