"""From run files to one vein map: measure each, join them, replay what a person changed."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from coilwright.veins import Conditions, Side, read_edits, stated_conditions
from coilwright.venogram import (
    MeasuredRunFile,
    PlacedRun,
    ScaleChoice,
    edited,
    join_runs,
    measure_run,
    read_header,
    read_run,
    require_one_patient,
    with_place,
)


def measure_runs(
    files: Sequence[Path],
    scale: ScaleChoice,
    *,
    mask_frames: tuple[int, ...] | None = None,
    side: Side | None = None,
    edits_file: Path | None = None,
    conditions: Mapping[int, Conditions] | None = None,
) -> MeasuredRunFile:
    """The map of one run or several, edits replayed on it.

    ``conditions`` say how a run was injected, by its place; what the edits state of it counts
    more. ``mask_frames`` are those of the first run.

    Raises
    ------
    FileProblem
        A run cannot be measured or joined, or an edit cannot be read or does not fit.
    """
    edits = None if edits_file is None else read_edits(edits_file)
    stated = dict(conditions or {}) | ({} if edits is None else stated_conditions(edits))
    headers = [read_header(file) for file in files]
    require_one_patient(list(zip(files, headers, strict=True)))
    placed = []
    for number, (file, header) in enumerate(zip(files, headers, strict=True)):
        chosen = mask_frames if number == 0 else None
        measured = measure_run(read_run(file), scale, mask_frames=chosen, side=side)
        measured = with_place(measured, header, stated.get(number))
        placed.append(PlacedRun(file=file, header=header, measured=measured))
    joined = placed[0].measured if len(placed) == 1 else join_runs(placed)
    if edits is None or edits_file is None:
        return joined
    return edited(joined, edits_file, edits)
