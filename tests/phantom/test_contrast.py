"""The injected front by distance over speed, and iodine by the law of absorption."""

import numpy as np
import pytest

from coilwright.phantom.contrast import Injection, arrivals_s, attenuation_per_mm
from coilwright.phantom.vein import TrueJoin, Vein, VeinKind
from coilwright.veins import OwnEnd

INJECTION = Injection(
    start_s=2.0,
    vein_mg_i_per_ml=100.0,
    lumen_mg_i_per_ml=300.0,
    down_mm_per_s=50.0,
    up_mm_per_s=25.0,
    rise_s=0.4,
    stop_s=6.0,
    washout_s=3.0,
)


def line(name: str, kind: VeinKind, start_x_mm: float, length_mm: float, *joins: TrueJoin) -> Vein:
    return Vein(
        id=name,
        kind=kind,
        knots_mm=tuple((start_x_mm, float(y), 0.0) for y in np.linspace(0, length_mm, 9)),
        relaxed_diameters_mm=(3.0, 3.0),
        joins=joins,
    )


TRUNK = line("trunk", VeinKind.TRUNK, 0.0, 200.0)


def arrival_at_s(veins: tuple[Vein, ...], name: str, arc_mm: float) -> float:
    courses = {vein.id: vein.course() for vein in veins}
    arrival = arrivals_s(veins, courses, INJECTION, tip_mm=30.0)
    return float(np.interp(arc_mm, courses[name].arc_mm, arrival[name]))


def test_attenuation_follows_from_concentration() -> None:
    # By hand: 80 mg/mL = 0.08 g/cm3 times 12.3 cm2/g = 0.984 /cm = 0.0984 /mm.
    assert attenuation_per_mm(80.0, 12.3) == pytest.approx(0.0984)


def test_the_front_runs_down_from_the_tip_and_slower_up_to_the_ostium() -> None:
    # 80 mm is 50 mm below the tip: 2.0 + 50 / 50 = 3.0 s. The ostium is 30 mm above it:
    # 2.0 + 30 / 25 = 3.2 s.
    assert arrival_at_s((TRUNK,), "trunk", 80.0) == pytest.approx(3.0, abs=5e-3)
    assert arrival_at_s((TRUNK,), "trunk", 0.0) == pytest.approx(3.2, abs=5e-3)


def test_a_side_vein_fills_after_the_place_that_it_leaves() -> None:
    join = TrueJoin(own_end=OwnEnd.START, vessel="trunk", at_mm=80.0)
    side = line("side-1", VeinKind.SIDE_VEIN, 10.0, 40.0, join)
    # 3.0 s at the join, then 20 mm at 50 mm/s: 3.4 s.
    assert arrival_at_s((TRUNK, side), "side-1", 20.0) == pytest.approx(3.4, abs=5e-3)


def test_a_duplicate_fills_from_the_end_that_is_reached_first() -> None:
    joins = (
        TrueJoin(own_end=OwnEnd.START, vessel="trunk", at_mm=80.0),
        TrueJoin(own_end=OwnEnd.END, vessel="trunk", at_mm=130.0),
    )
    duplicate = line("duplicate-1", VeinKind.DUPLICATE, 10.0, 150.0, *joins)
    # From above 3.0 + 100 / 50 = 5.0 s; from below 4.0 + 50 / 50 = 5.0 s: both fronts meet at
    # 100 mm. Nearer the lower end the lower way is the shorter: at 130 mm 4.0 + 20 / 50 = 4.4 s.
    assert arrival_at_s((TRUNK, duplicate), "duplicate-1", 100.0) == pytest.approx(5.0, abs=0.01)
    assert arrival_at_s((TRUNK, duplicate), "duplicate-1", 130.0) == pytest.approx(4.4, abs=0.01)


def test_a_vein_without_a_way_in_is_refused() -> None:
    lost = line("lost", VeinKind.CROSSING, 10.0, 40.0)
    with pytest.raises(ValueError, match="lost: contrast has no way in"):
        arrival_at_s((TRUNK, lost), "lost", 0.0)


def test_filling_rises_holds_and_washes_out() -> None:
    arrival = np.array([3.0])
    # Nothing before; half way up the rise one half; full after it; the injection of 4 s has
    # passed at 7 s, and 3 s later 1/e is left (0.3679).
    times_and_shares = ((2.9, 0.0), (3.2, 0.5), (3.4, 1.0), (7.0, 1.0), (10.0, 0.3679))
    for time_s, share in times_and_shares:
        assert INJECTION.filling(time_s, arrival)[0] == pytest.approx(share, abs=1e-4)
