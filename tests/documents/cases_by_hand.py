"""A case and a vein map by hand, for tests of what is printed. All of it invented."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

from coilwright.assessment import assess
from coilwright.planning import OcclusionPlan, PullList, plan_occlusion, pull_list
from coilwright.protocol import load_protocol
from coilwright.record import Case, load_case
from coilwright.veins import Join, Narrowing, OwnEnd, VeinMap, Vessel, VesselKind
from planning.straight_trunks import demo_kit, side_vein, straight_vessel, vein_map_of

DAY = dt.date(2026, 3, 12)
DEMO_CASE = Path(__file__).parents[2] / "src" / "coilwright" / "demo" / "case.toml"
NARROWING = Narrowing(from_mm=80.0, to_mm=90.0, relaxed_diameter_mm=4.6, relaxed_sd_mm=0.4)


def case_of(folder: Path, text: str | None = None) -> Case:
    """The demo's case, or another text, with empty files where it names a run and a kit."""
    for name in ("run.dcm", "kit.toml"):
        (folder / name).touch()
    file = folder / "case.toml"
    file.write_text(DEMO_CASE.read_text(encoding="utf-8") if text is None else text, "utf-8")
    return load_case(file, DAY)


def duplicate(vessel_id: str, *, leaves_mm: float, rejoins_mm: float) -> Vessel:
    """A parallel channel with its two joins."""
    own = side_vein(vessel_id, at_mm=leaves_mm)
    joins = (
        Join(own_end=OwnEnd.START, vessel="trunk", at_mm=leaves_mm),
        Join(own_end=OwnEnd.END, vessel="trunk", at_mm=rejoins_mm),
    )
    return replace(own, kind=VesselKind.DUPLICATE, joins=joins)


def map_by_hand() -> VeinMap:
    """200 mm of trunk, 6.0 mm wide, narrowed to 2.9 mm at 80 to 90 mm; branches at 60, 110, 140."""
    return vein_map_of(
        straight_vessel(narrowings=(NARROWING,), narrowed_to_mm=2.9),
        side_vein("side-vein-1", at_mm=60.0),
        duplicate("duplicate-1", leaves_mm=110.0, rejoins_mm=140.0),
    )


def pulled_by_hand(plan: OcclusionPlan) -> PullList:
    """The pull-list of a plan with the demo's kit."""
    return pull_list(plan, demo_kit(), load_protocol(), on=DAY)


def plan_by_hand(case: Case, vein_map: VeinMap) -> OcclusionPlan:
    """The plan of a map with the demo's kit and the package's own limits."""
    protocol = load_protocol()
    assessed = assess(case.facts(DAY), protocol)
    return plan_occlusion(vein_map, demo_kit(), protocol, advisories=assessed, on=DAY)
