"""Rendered runs with their truth for `undersize.py`: catheters off their label, spasm, depth."""

import json
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path

import numpy as np
import numpy.typing as npt

from coilwright.errors import InputError
from coilwright.phantom import Level, Scene, Truth, random_scene, render, write_run
from coilwright.phantom.vein import Spasm, Vein, VeinKind
from coilwright.veins import Landmark, VeinMap, vein_map_from_json, vein_map_to_json
from coilwright.venogram import ScaleChoice, measure_run, read_header, read_run, with_place

Array = npt.NDArray[np.float64]

_STREAM = 11
# The vein comes forward towards the ring: practitioner's review, common practice, no source.
FORWARD_MM = (30.0, 60.0)
RING_SD_MM = 5.0


class Kind(StrEnum):
    """What a run is rendered with."""

    STILL = "still"
    BREATHING = "breathing"
    SPASM = "spasm"
    FORWARD = "forward"


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A measured run and what is true of its trunk.

    ``true_points_px`` (N, 2) stand in the map's reference frame, ``true_mm`` (N,) is the calibre
    in space without spasm. ``vein_map`` is null where the measurement refused, ``refused`` why.
    """

    kind: Kind
    seed: int
    vein_map: VeinMap | None
    refused: str
    true_points_px: Array
    true_mm: Array
    mm_per_pixel: float


def runs_of(kind: Kind, seeds: range, tolerance: float, keep: Path | None) -> Iterator[Run]:
    """The runs of a kind, one after the other; ``keep`` is a folder to measure them only once."""
    for seed in seeds:
        file = None if keep is None else keep / f"{kind.value}-{seed}.json"
        if file is not None and file.exists():
            yield _with_ring(_read(file))
            continue
        run = _measured(kind, seed, tolerance)
        if file is not None:
            _write(run, file)
        yield _with_ring(run)


def _with_ring(run: Run) -> Run:
    """The run with the ring marked by hand where the rendered vein ends, in the picture or not."""
    if run.vein_map is None:
        return run
    scene = _scene(run.kind, run.seed, _random(run.kind, run.seed))
    x_px, y_px = scene.cone.project_px(scene.trunk.course().points_mm[-1:])[0]
    ring = Landmark(point_px=(float(x_px), float(y_px)), sd_mm=RING_SD_MM, how="marked")
    marks = replace(run.vein_map.landmarks, internal_ring=ring)
    return replace(run, vein_map=replace(run.vein_map, landmarks=marks))


def _random(kind: Kind, seed: int) -> np.random.Generator:
    return np.random.default_rng([seed, _STREAM, list(Kind).index(kind)])


def _measured(kind: Kind, seed: int, tolerance: float) -> Run:
    random = _random(kind, seed)
    labelled = _scene(kind, seed, random)
    size_fr = labelled.catheter.size_fr
    off_fr = size_fr * (1.0 + float(random.normal(0.0, tolerance)))
    scene = replace(labelled, catheter=replace(labelled.catheter, size_fr=off_fr))
    lumen_mm = scene.catheter.lumen_mm if seed % 2 else None
    rendered = render(scene)
    choice = ScaleChoice(catheter_fr=size_fr, catheter_lumen_mm=lumen_mm)
    vein_map, refused = None, ""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "run.dcm"
        write_run(rendered, file)
        try:
            # As the command keeps it: with the tube's angles from the header.
            measured = with_place(measure_run(read_run(file), choice), read_header(file))
            vein_map = measured.vein_map
        except InputError as error:
            refused = str(error)
        except np.linalg.LinAlgError as error:  # a defect of the measurement, listed on the page
            refused = f"the measurement broke off: {error}"
    frame = 0 if vein_map is None else vein_map.reference_frame
    points_px, true_mm = _true_trunk(scene, rendered.truth, frame)
    return Run(
        kind=kind,
        seed=seed,
        vein_map=vein_map,
        refused=refused,
        true_points_px=points_px,
        true_mm=true_mm,
        mm_per_pixel=rendered.truth.scale.over_trunk,
    )


def _scene(kind: Kind, seed: int, random: np.random.Generator) -> Scene:
    scene = random_scene(seed, Level.BREATHING if kind is Kind.BREATHING else Level.STILL)
    if kind is Kind.SPASM:
        spasm = Spasm(
            centre_mm=float(random.uniform(0.2, 0.75)) * scene.trunk.course().length_mm,
            half_length_mm=float(random.uniform(6.0, 20.0)),
            share=float(random.uniform(0.2, 0.5)),
        )
        clamped = replace(scene.trunk, spasm=spasm)
        others = tuple(vein for vein in scene.veins if vein.kind is not VeinKind.TRUNK)
        return replace(scene, veins=(clamped, *others))
    if kind is Kind.FORWARD:
        knots_mm = scene.trunk.knots_mm
        more_mm = float(random.uniform(*FORWARD_MM)) - (knots_mm[-1][2] - knots_mm[0][2])
        start_mm, end_mm = knots_mm[0][1], knots_mm[-1][1]
        return replace(
            scene, veins=tuple(_forward(v, more_mm, start_mm, end_mm) for v in scene.veins)
        )
    return scene


def _forward(vein: Vein, more_mm: float, start_mm: float, end_mm: float) -> Vein:
    """The vein brought towards the detector, more and more on the way down."""
    share = np.clip([(y - start_mm) / (end_mm - start_mm) for _, y, _ in vein.knots_mm], 0.0, 1.0)
    eased = share * share * (3.0 - 2.0 * share)
    knots = tuple(
        (x, y, z + more_mm * float(part))
        for (x, y, z), part in zip(vein.knots_mm, eased, strict=True)
    )
    return replace(vein, knots_mm=knots)


def _true_trunk(scene: Scene, truth: Truth, frame: int) -> tuple[Array, Array]:
    """The true trunk where the reference frame shows it, and its calibre without the spasm."""
    trunk, spasm = truth.trunk, scene.trunk.spasm
    carry = np.array(truth.to_frame_px[frame])
    points_px = np.array(trunk.points_px) @ carry[:, :2].T + carry[:, 2]
    true_mm = np.array(trunk.diameter_mm)
    if spasm is not None:
        true_mm = true_mm / spasm.factor(np.array(trunk.arc_mm))
    return points_px, true_mm


def _write(run: Run, file: Path) -> None:
    document = {
        "kind": run.kind.value,
        "seed": run.seed,
        "refused": run.refused,
        "mm_per_pixel": run.mm_per_pixel,
        "true_points_px": run.true_points_px.round(3).tolist(),
        "true_mm": run.true_mm.round(4).tolist(),
        "vein_map": None if run.vein_map is None else vein_map_to_json(run.vein_map),
    }
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(json.dumps(document), encoding="utf-8")


def _read(file: Path) -> Run:
    document = json.loads(file.read_text(encoding="utf-8"))
    text = document["vein_map"]
    return Run(
        kind=Kind(document["kind"]),
        seed=document["seed"],
        vein_map=None if text is None else vein_map_from_json(text, file),
        refused=document["refused"],
        true_points_px=np.array(document["true_points_px"]),
        true_mm=np.array(document["true_mm"]),
        mm_per_pixel=document["mm_per_pixel"],
    )
