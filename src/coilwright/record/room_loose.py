"""Facts of the room that name an entry which is not there, or not of the kind that is meant."""

from collections.abc import Mapping
from uuid import UUID

from coilwright.record.settled import Line, Loose, Settled


def loose_line(line: Line, what: str) -> Loose:
    """The line as one that has no effect, and why."""
    return Loose(entry=line.entry, kind=line.kind, author=line.author, at=line.at, what=what)


def named_line(settled: Settled, named: UUID, kind: str) -> Line | str:
    """The line of that kind which an id names, also by one of its amendments; or what is amiss."""
    line = _lines(settled).get(settled.line_of.get(named, named))
    if line is None:
        return "it names an entry that is not there"
    if line.kind != kind:
        return f"it names an entry of another kind than {kind}"
    if not line.counts:
        return "it names an entry that was withdrawn"
    return line


def _lines(settled: Settled) -> Mapping[UUID, Line]:
    return {line.entry: line for line in settled.lines}
