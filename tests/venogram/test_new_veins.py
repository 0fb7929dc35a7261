"""A completion run that shows a channel which the map never had: the renderer knows where it is."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from scipy.spatial import cKDTree

from coilwright.phantom.truth import TrueVessel
from coilwright.phantom.vein import VeinKind
from coilwright.veins import Affine, Comparison, NewVein, Stretch, ZoneState
from coilwright.venogram import (
    AskedZone,
    CompletionRun,
    compare_with_map,
    read_header,
    read_run,
)
from coilwright.venogram.new_veins import CompletionPicture, new_veins
from coilwright.venogram.pixel_doubt import NO_DOUBT
from coilwright.venogram.subtraction import SubtractedRun
from coilwright.venogram.vessel_opacity import laid_on
from veins.maps import hand_map
from venogram.conftest import STRAIN, JoinedTables
from venogram.tables import UPPER, Table, rendered_table, with_trunk_emptied_below

pytestmark = pytest.mark.xdist_group("tables")


@pytest.fixture(scope="module")
def refilling(tmp_path_factory: pytest.TempPathFactory) -> Table:
    """The same patient with a parallel channel."""
    return rendered_table(tmp_path_factory.mktemp("refilling"), duplicates=True)


@pytest.fixture(scope="module")
def channel(refilling: Table) -> TrueVessel:
    (found,) = (v for v in refilling.truth.vessels if v.kind is VeinKind.DUPLICATE)
    return found


def mouths_mm(joined: JoinedTables, channel: TrueVessel) -> tuple[float, float]:
    """Arcs of the map's trunk beside the true ends of the channel."""
    trunk = joined.vein_map.trunk
    assert trunk is not None
    top, _, left, _ = UPPER
    ends = np.array([channel.points_px[0], channel.points_px[-1]]) - (left, top)
    _, nearest = cKDTree(np.array(trunk.points_px)).query(ends)
    first, last = sorted(trunk.arc_mm[int(index)] for index in nearest)
    return first, last


def shown(joined: JoinedTables, file: Path, zone: Stretch) -> Comparison:
    run = CompletionRun(run=read_run(file), header=read_header(file), conditions=STRAIN)
    asked = (AskedZone(name="level", zone=zone),)
    return compare_with_map(joined.vein_map, joined.map_file, run, asked).comparison


@pytest.fixture(scope="module")
def found(joined_tables: JoinedTables, refilling: Table, channel: TrueVessel) -> Comparison:
    """The trunk shut just below where the channel leaves it, the channel open."""
    first, _ = mouths_mm(joined_tables, channel)
    top = UPPER[0]
    trunk = joined_tables.vein_map.trunk
    assert trunk is not None
    row = float(np.interp(first + 14.0, trunk.arc_mm, [y for _, y in trunk.points_px])) + top
    frames = with_trunk_emptied_below(refilling, round(row))
    zone = Stretch(vessel="trunk", from_mm=first + 18.0, to_mm=first + 36.0)
    return shown(joined_tables, refilling.write("refill", UPPER, frames), zone)


def test_the_channel_is_found_where_it_truly_runs(
    found: Comparison, joined_tables: JoinedTables, refilling: Table, channel: TrueVessel
) -> None:
    assert found.new_veins is not None
    (vein,) = found.new_veins
    top, _, left, _ = UPPER
    away, _ = cKDTree(np.array(channel.points_px) - (left, top)).query(np.array(vein.points_px))
    # Within half of the channel's own width all along.
    assert float((away * refilling.truth.scale.over_trunk).max()) < 2.0
    first, last = mouths_mm(joined_tables, channel)
    assert (vein.beside.vessel, vein.doubt) == ("trunk", None)
    assert first - 5.0 < vein.beside.from_mm < vein.beside.to_mm < last + 5.0


def test_its_calibre_is_true_within_what_is_stated(found: Comparison, channel: TrueVessel) -> None:
    assert found.new_veins is not None
    (vein,) = found.new_veins
    assert vein.diameter_mm is not None
    assert vein.diameter_sd_mm is not None
    true_mm = float(np.median(channel.diameter_mm))
    assert abs(vein.diameter_mm - true_mm) < 2.0 * vein.diameter_sd_mm + 0.1


def test_a_level_that_looks_shut_names_the_channel_that_runs_past_it(found: Comparison) -> None:
    (level,) = found.zones
    assert level.state is ZoneState.SHUT
    assert level.text.endswith("new-1, not on the map, runs past it")


def test_what_the_map_has_is_never_told_as_new(joined_tables: JoinedTables) -> None:
    again = joined_tables.table.write("again", UPPER)
    zone = Stretch(vessel="trunk", from_mm=20.0, to_mm=32.0)
    assert shown(joined_tables, again, zone).new_veins == ()


ROWS, COLUMNS, BESIDE_X = 500, 320, 200.0
Picture = npt.NDArray[np.float32]


def ridge(x: float, height: float, sd_px: float, rows: slice) -> Picture:
    """A straight line of contrast down a column, with the profile of a normal curve."""
    columns = np.arange(COLUMNS, dtype=np.float32)
    picture = np.zeros((ROWS, COLUMNS), np.float32)
    picture[rows] = height * np.exp(-((columns - x) ** 2) / (2.0 * sd_px**2))
    return picture


def looked_for(line: Picture, mask: Picture, moved_px: float) -> tuple[NewVein, ...]:
    """What is told of a line beside the hand map's filled trunk, over a mask."""
    vein_map = replace(hand_map(), vessels=hand_map().vessels[:1])
    contrast = ridge(100.0, 1.0, 6.0, slice(50, 450)) + line
    random = np.random.default_rng(8)
    frames = random.normal(0.0, 0.004, (8, ROWS, COLUMNS)).astype(np.float32)
    frames[3:] += contrast
    shifts = np.zeros((8, 2))
    shifts[-1, 0] = moved_px
    subtracted = SubtractedRun(
        frames=frames,
        mask=mask,
        field=np.ones((ROWS, COLUMNS), np.bool_),
        mask_frames=(0, 1, 2),
        reference_frame=2,
        shifts_px=shifts,
        notices=(),
    )
    shown = CompletionPicture(
        picture=frames[3:].mean(0),
        subtracted=subtracted,
        affine=SAME_GRID,
        laid=laid_on(vein_map.vessels, SAME_GRID, vein_map.calibration.mm_per_pixel),
        densitometric=True,
        doubt=NO_DOUBT,
    )
    return new_veins(vein_map, shown)


SAME_GRID: Affine = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
LINE = ridge(BESIDE_X, 0.15, 4.0, slice(300, 460))
FLAT = np.zeros((ROWS, COLUMNS), np.float32)
# An edge of 0.3 nepers over 12 px: 0.025 a pixel, which a shift of 7 px makes a line of 0.175.
EDGE = np.interp(np.arange(COLUMNS), [194, 206], [0.0, 0.3]).astype(np.float32) + FLAT


def test_a_line_of_contrast_over_even_ground_is_told_without_doubt() -> None:
    (vein,) = looked_for(LINE, FLAT, moved_px=7.0)
    assert vein.doubt is None
    # 160 rows at 0.25 mm; 100 px beside the trunk.
    assert vein.length_mm == pytest.approx(40.0, abs=3.0)
    assert vein.apart_mm == pytest.approx(25.0, abs=1.0)


def test_a_line_along_an_edge_is_doubted_only_where_the_patient_moved() -> None:
    (moved,) = looked_for(LINE, EDGE, moved_px=7.0)
    assert moved.doubt == "it lies along an edge of bone or gas, where motion leaves such lines"
    assert "perhaps no vein" in moved.text
    (still,) = looked_for(LINE, EDGE, moved_px=0.0)
    assert still.doubt is None


def test_the_filled_lumen_of_a_catheter_is_no_vein() -> None:
    # 5 F at 0.25 mm is 6.7 px; its lumen is narrower, and the catheter lies there in the mask.
    lumen = ridge(BESIDE_X, 0.15, 1.2, slice(300, 460))
    catheter = ridge(BESIDE_X, 0.1, 2.5, slice(0, ROWS))
    assert looked_for(lumen, catheter, moved_px=0.0) == ()
    assert len(looked_for(lumen, FLAT, moved_px=0.0)) == 1
