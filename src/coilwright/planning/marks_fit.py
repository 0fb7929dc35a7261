"""Whether an operator's marks and a vein map fit each other, told in one sentence if not."""

from collections.abc import Iterator

from coilwright.errors import InputError, Problem
from coilwright.planning.network_marks import NetworkMarks, Place
from coilwright.veins import VeinMap

# A person reads an arc off a picture: this far past the end still means the end.
PAST_END_MM = 1.0


class MarksDoNotFit(InputError):
    """The marks and the map do not make a network together; ``of_map``: the map is at fault."""

    def __init__(self, problem: Problem, *, of_map: bool = False) -> None:
        self.problem, self.of_map = problem, of_map
        super().__init__(problem)

    def __str__(self) -> str:
        return f"{self.problem}."


def map_does_not_fit(field: str, found: str, mend: str) -> MarksDoNotFit:
    """The map lacks what no mark makes good."""
    return MarksDoNotFit(Problem(field=field, found=found, mend=mend), of_map=True)


def require_marks_fit(vein_map: VeinMap, marks: NetworkMarks) -> None:
    """Refuse a mark on a vessel that is not there, or past a vessel's end.

    Raises
    ------
    MarksDoNotFit
        The first such mark.
    """
    vessels = {vessel.id: vessel for vessel in vein_map.vessels}
    for where, vessel, at_mm in _named(marks):
        if vessel not in vessels:
            mend = "name a vessel of the map by its id"
            raise MarksDoNotFit(
                Problem(field=f"{where}, vessel", found="not on the map", mend=mend)
            )
        last_mm = vessels[vessel].arc_mm[-1]
        if at_mm is not None and at_mm > last_mm + PAST_END_MM:
            found, mend = f"past the vessel's end at {last_mm:.1f} mm", "write an arc within it"
            raise MarksDoNotFit(Problem(field=f"{where}, at_mm", found=found, mend=mend))


def _named(marks: NetworkMarks) -> Iterator[tuple[str, str, float | None]]:
    """Every vessel that a mark names, with the mark and the arc where it names one."""
    yield "catheter", marks.enters.vessel, marks.enters.at_mm
    for n, far_end in enumerate(marks.far_ends, 1):
        yield f"far_end {n}", far_end.vessel, None
    for n, one in enumerate(marks.protected, 1):
        yield from ((f"protected {n}", one.vessel, at) for at in (one.from_mm, one.to_mm))
    for n, calibre in enumerate(marks.calibres, 1):
        yield f"calibre {n}", calibre.vessel, None
    for n, channel in enumerate(marks.channels, 1):
        for key, end in (("from", channel.from_place), ("to", channel.to_place)):
            if isinstance(end, Place):
                yield f"channel {n}, {key}", end.vessel, end.at_mm
