"""The runs of a case measured, and joined into one map as far as they belong together."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from coilwright.errors import InputError
from coilwright.record import CaseRun
from coilwright.veins import Landmarks, VeinMap
from coilwright.venogram import (
    MeasuredRunFile,
    PlacedRun,
    ScaleChoice,
    join_runs,
    measure_run,
    read_header,
    read_run,
    with_place,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A run of the case that is not on its map, and why."""

    file: Path
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredCase:
    """The map of a case, and the runs that are not on it."""

    measured: MeasuredRunFile
    left_out: tuple[LeftOut, ...] = ()


def measure_case(runs: Sequence[CaseRun], progress: Callable[[str], None]) -> MeasuredCase:
    """The map of the first run with every other run joined to it that can be.

    Raises
    ------
    InputError
        The first run cannot be measured; a later one that cannot is left out.
    """
    kept, left = [_placed(runs[0], progress)], []
    joined = kept[0].measured
    for run in runs[1:]:
        try:
            _require_same_side(runs[0], run)
            placed = _placed(run, progress)
            progress(f"joining {run.file.name}")
            together = join_runs([*kept, placed])
        except InputError as error:
            left.append(LeftOut(file=run.file, why=str(error)))
            continue
        if len(together.vein_map.runs) == len(joined.vein_map.runs):
            left.append(LeftOut(file=run.file, why=together.vein_map.quality.warnings[-1].text))
            continue
        kept.append(placed)
        joined = together
    return MeasuredCase(measured=joined, left_out=tuple(left))


class OtherSide(InputError):
    """A run that the case states to be of the other side than its first."""

    def __init__(self, file: Path) -> None:
        self.file = file
        super().__init__(file)

    def __str__(self) -> str:
        return f"{self.file.name}: side: the case states another one than for its first run"


def _require_same_side(first: CaseRun, other: CaseRun) -> None:
    if first.side is not None and other.side is not None and first.side is not other.side:
        raise OtherSide(other.file)


def _placed(run: CaseRun, progress: Callable[[str], None]) -> PlacedRun:
    progress(f"reading {run.file.name}")
    stored, header = read_run(run.file), read_header(run.file)
    progress(f"measuring {run.file.name}")
    # A scale that the operator gives takes the place of the catheter's: the two exclude each other.
    french = run.catheter_fr if run.mm_per_pixel is None else None
    scale = ScaleChoice(
        catheter_fr=french,
        catheter_lumen_mm=run.catheter_lumen_mm,
        mm_per_pixel=run.mm_per_pixel,
    )
    measured = measure_run(stored, scale, mask_frames=run.mask_frames, side=run.side)
    # The bones stay with the map, so that another run can be laid on it.
    measured = with_place(measured, header, run.conditions)
    measured = replace(measured, vein_map=as_marked(measured.vein_map, run.landmarks))
    return PlacedRun(file=run.file, header=header, measured=measured)


def as_marked(vein_map: VeinMap, marked: Landmarks) -> VeinMap:
    """The map with the operator's marks, which overrule what was found."""
    found = vein_map.landmarks
    landmarks = Landmarks(
        ostium=marked.ostium or found.ostium,
        internal_ring=marked.internal_ring or found.internal_ring,
        superior_ramus_edge=marked.superior_ramus_edge or found.superior_ramus_edge,
    )
    return replace(vein_map, landmarks=landmarks)
