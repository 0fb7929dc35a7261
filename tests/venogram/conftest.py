"""One rendered run, cut into two tables and measured once by the command itself."""

import subprocess
from dataclasses import dataclass
from pathlib import Path

import pytest

from coilwright.veins import Conditions, VeinMap, vein_map_from_json
from venogram.tables import LOWER, UPPER, Table, rendered_table

STRAIN = Conditions(tip_site="left renal vein", valsalva=True, tilt_deg=0.0)
SIGNED = 'by = "A. Invented"\nat = 2026-01-31T10:42:00\nwhy = "seen so on the raw frames"\n'
CONDITIONS = 'do = "conditions"\ntip_site = "left renal vein"\nvalsalva = true\ntilt_deg = 0.0\n'


@dataclass(frozen=True, slots=True, kw_only=True)
class JoinedTables:
    """The two tables' files, the map that the command made of both, and what it said."""

    table: Table
    upper: Path
    lower: Path
    map_file: Path
    vein_map: VeinMap
    said: str


@pytest.fixture(scope="session")
def joined_tables(
    tmp_path_factory: pytest.TempPathFactory, coilwright_program: Path
) -> JoinedTables:
    folder = tmp_path_factory.mktemp("tables")
    table = rendered_table(folder)
    upper, lower = table.write("upper", UPPER), table.write("lower", LOWER)
    edits, map_file = folder / "edits.toml", folder / "map.json"
    (x0, y0), (x1, y1) = drawn_ends(table)
    edits.write_text(
        'format = "coilwright.map-edits"\nversion = 1\n'
        f"[[edit]]\n{SIGNED}{CONDITIONS}run = 0\n[[edit]]\n{SIGNED}{CONDITIONS}run = 1\n"
        f'[[edit]]\n{SIGNED}do = "add"\nnew_id = "by-hand"\nkind = "side-vein"\n'
        f"points_px = [[{x0:.1f}, {y0:.1f}], [{x1:.1f}, {y1:.1f}]]\n"
    )
    command: list[str | Path] = [
        coilwright_program, "measure", upper, lower, "--json", map_file, "--edits", edits,
        "--catheter-fr", f"{table.truth.catheter.size_fr:g}", "--picture", folder / "map.png",
    ]  # fmt: skip
    done = subprocess.run(command, check=False, capture_output=True, text=True, timeout=600)
    assert done.returncode == 0, done.stderr
    text = map_file.read_text(encoding="utf-8")
    return JoinedTables(
        table=table,
        upper=upper,
        lower=lower,
        map_file=map_file,
        vein_map=vein_map_from_json(text, map_file),
        said=done.stdout,
    )


def drawn_ends(table: Table) -> tuple[tuple[float, float], tuple[float, float]]:
    """Two true points of the trunk 12 mm apart, where the catheter has ended, on the upper table.

    A hand that draws along the trunk gets the trunk's own calibre.
    """
    top, _, left, _ = UPPER
    trunk = table.truth.trunk
    start = next(
        i for i, arc in enumerate(trunk.arc_mm) if arc > table.truth.catheter.tip_at_mm + 25
    )
    end = next(i for i, arc in enumerate(trunk.arc_mm) if arc > trunk.arc_mm[start] + 12)
    points = (trunk.points_px[start], trunk.points_px[end])
    (x0, y0), (x1, y1) = ((x - left, y - top) for x, y in points)
    return (x0, y0), (x1, y1)
