"""The parts of a rescue kit: what a snare runs through, the sheath for its catch, the wire to it.

A snare that is drawn in passes a catheter; with a coil in its loop it needs the sheath that its
label names. Where a label is silent nothing is guessed: what to read off is said.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from coilwright.kit import (
    Catheter,
    Device,
    PairFit,
    Sheath,
    Snare,
    Wire,
    exchange_over,
    pass_through,
    stand_out,
)
from coilwright.planning.pull_rescue_grades import CANNOT_BE_TOLD, FAILS, PASSES, Tube
from coilwright.planning.pull_way import WayIn
from coilwright.protocol import Protocol


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the rescue kit with its pairs; ``lacking`` says what is not there or unread."""

    device: Device | None
    pairs: tuple[PairFit, ...]
    lacking: tuple[str, ...]
    grade: int


NOT_ASKED = Part(None, (), (), PASSES)


@dataclass(frozen=True, slots=True)
class Found:
    """A snare with the best of every other part."""

    snare: Snare
    through: Part
    sheath: Part
    wire: Part

    @property
    def parts(self) -> tuple[Part, Part, Part]:
        """What belongs to the snare."""
        return self.through, self.sheath, self.wire

    @property
    def grade(self) -> int:
        """That of the worst part."""
        return max(part.grade for part in self.parts)


def through_part(snare: Snare, tube: Tube | None, protocol: Protocol) -> Part:
    """What the snare runs through; null: nothing on the shelf takes it."""
    if tube is None:
        return Part(None, (), (f"a catheter or sheath for {snare.name} to run through",), FAILS)
    return _part(tube, (pass_through(snare, tube, protocol), stand_out(snare, tube, protocol)))


def capture_part(snare: Snare, sheath: Sheath | None, through: Part, protocol: Protocol) -> Part:
    """Whether this sheath takes the snare with its catch, and what the snare runs through."""
    if sheath is None:
        lacking = f"a sheath that takes {snare.name} out with its catch"
        return Part(None, (), (lacking,), FAILS)
    if snare.needs_sheath_fr is None:
        read = f"cannot be told: read the sheath that it needs (F) off the label of {snare.name}"
        return Part(None, (), (read,), CANNOT_BE_TOLD)
    pairs = [pass_through(snare, sheath, protocol)]
    if isinstance(through.device, Catheter):
        pairs.append(pass_through(through.device, sheath, protocol))
    part = _part(sheath, tuple(pairs))
    if part.grade == FAILS:
        and_tube = (
            "" if len(pairs) == 1 or through.device is None else f" and {through.device.name}"
        )
        lacking = f"a sheath of {snare.needs_sheath_fr:g} F or more for {snare.name}{and_tube}"
        return Part(None, (), (lacking,), FAILS)
    return part


def exchange_part(sheath: Sheath, wire: Wire | None, way: WayIn, protocol: Protocol) -> Part:
    """The wire over which the sheath in place is changed for this one; null: none does."""
    if wire is None:
        lacking = f"a wire that {sheath.name} goes in over, long enough to exchange the catheter"
        return Part(None, (), (lacking,), FAILS)
    return _part(wire, tuple(_exchange_pairs(wire, sheath, way, protocol)))


def _exchange_pairs(
    wire: Wire, sheath: Sheath, way: WayIn, protocol: Protocol
) -> Iterator[PairFit]:
    yield pass_through(wire, sheath, protocol)
    if way.catheter is not None:
        yield pass_through(wire, way.catheter, protocol)
        yield exchange_over(wire, way.catheter, protocol)


def _part(device: Device, pairs: tuple[PairFit, ...]) -> Part:
    if any(pair.fails for pair in pairs):
        return Part(device, pairs, (), FAILS)
    unread = tuple(f"cannot be told: read {p.read_off}" for p in pairs if p.read_off is not None)
    return Part(device, pairs, unread, CANNOT_BE_TOLD if unread else PASSES)
