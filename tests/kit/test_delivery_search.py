"""Shelves on which every device has a size of its own: what is found, against trying everything."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from random import Random

import pytest

from coilwright.kit import (
    Catheter,
    Coil,
    Device,
    Kit,
    Microcatheter,
    Needle,
    Sheath,
    Wire,
    WireEnd,
    check_deliveries,
    delivery_ways,
    fits,
    pass_through,
)
from coilwright.kit.first_best import Merit, Row
from coilwright.kit.lengths import stand_out
from coilwright.kit.pushing import push_behind
from coilwright.protocol import load_protocol
from kit.devices import catheter, coil, micro, needle, sheath, wire

PROTOCOL = load_protocol()
Lumen = Catheter | Microcatheter


def random_kit(random: Random) -> Kit:
    """Three of each kind; one label in ten is silent."""

    def size(low: float, high: float) -> float | None:
        return None if random.random() < 0.1 else round(random.uniform(low, high), 4)

    def three(device: Device, **bounds: tuple[float, float]) -> tuple[Device, ...]:
        sizes = [{name: size(*pair) for name, pair in bounds.items()} for _ in range(3)]
        return tuple(replace(device, id=f"{device.id}-{i}", **s) for i, s in enumerate(sizes))  # type: ignore[arg-type]  # each kind has these values

    tables = {
        "needles": three(needle(), inner_diameter_mm=(0.8, 1.1)),
        "wires": three(wire(0.018), wire_inch=(0.014, 0.038), length_cm=(100, 260)),
        "sheaths": three(
            sheath(5), accepts_fr=(4.5, 6), accepts_wire_inch=(0.03, 0.04), length_cm=(10, 60)
        ),
        "catheters": three(
            catheter(), outer_fr=(4.5, 6), lumen_inch=(0.03, 0.045), length_cm=(50, 110)
        ),
        "microcatheters": three(
            micro(2.7), outer_fr=(2.2, 3), lumen_inch=(0.017, 0.025), length_cm=(110, 150)
        ),
        "coils": tuple(
            replace(coil(round(random.uniform(0.01, 0.038), 4)), id=f"coil-{i}") for i in range(4)
        ),
    }
    return Kit(**tables)  # type: ignore[arg-type]  # each table holds its own kind


def goes_in(inner: Device, outer: Device) -> bool:
    return pass_through(inner, outer, PROTOCOL).passes and stand_out(inner, outer, PROTOCOL).passes


def reaches_the_vein(tube: Catheter, kit: Kit) -> bool:
    """Some needle, wire and sheath let it in, and some wire leads it: all of them tried."""
    entries: Iterator[tuple[Needle, Wire, Sheath]] = product(kit.needles, kit.wires, kit.sheaths)
    return any(goes_in(w, tube) for w in kit.wires) and any(
        pass_through(w, n, PROTOCOL).passes
        and pass_through(w, s, PROTOCOL).passes
        and goes_in(tube, s)
        for n, w, s in entries
    )


def is_pushed(good: Coil, lumen: Lumen, kit: Kit) -> bool:
    return pass_through(good, lumen, PROTOCOL).passes and any(
        goes_in(w, lumen) and push_behind(w, good, lumen).passes for w in kit.wires
    )


def is_delivered(good: Coil, kit: Kit) -> bool:
    for tube in kit.catheters:
        if not reaches_the_vein(tube, kit):
            continue
        led = [m for m in kit.microcatheters if any(goes_in(w, m) for w in kit.wires)]
        lumens: list[Lumen] = [tube, *(m for m in led if goes_in(m, tube))]
        if any(is_pushed(good, lumen, kit) for lumen in lumens):
            return True
    return False


def test_a_coil_is_delivered_exactly_where_some_way_of_all_delivers_it() -> None:
    # Every needle, wire, sheath, catheter, microcatheter and pusher tried together, pair by pair.
    random, answers = Random(20), []
    for _ in range(80):
        kit = random_kit(random)
        checks = check_deliveries(kit.coils, delivery_ways(kit, PROTOCOL), PROTOCOL)
        for good in kit.coils:
            answers.append(is_delivered(good, kit))
            assert checks[good.id].passes is answers[-1]
    # Both answers come up, else nothing is shown.
    assert min(answers.count(True), answers.count(False)) > 20


def test_the_lumens_are_the_catheters_and_the_microcatheters_that_one_of_them_takes() -> None:
    random, left_out = Random(21), 0
    for _ in range(60):
        kit = random_kit(random)
        taken = [m for m in kit.microcatheters if any(goes_in(m, c) for c in kit.catheters)]
        left_out += len(kit.microcatheters) - len(taken)
        lumens = delivery_ways(kit, PROTOCOL).lumens
        assert {lumen.id for lumen in lumens} == {d.id for d in (*kit.catheters, *taken)}
    assert left_out > 0


def test_the_catheter_with_the_fewest_failing_pairs_comes_first_in_the_kit() -> None:
    # Worked by hand: a 7 F catheter does not pass the 5 F sheath, both 5 F ones do.
    wide = replace(catheter(7), id="wide")
    first, second = replace(catheter(), id="first"), replace(catheter(length_cm=80), id="second")
    kit = Kit(
        needles=(needle(accepts_inch=0.038),),
        wires=(wire(0.035),),
        sheaths=(sheath(5),),
        catheters=(wide, first, second),
    )
    way = delivery_ways(kit, PROTOCOL).fewest_failing()
    assert way is not None
    assert way.catheter == first
    assert delivery_ways(Kit(), PROTOCOL).fewest_failing() is None


def test_wires_of_their_own_sizes_would_do_where_each_passes_by_hand() -> None:
    # The bore of 0.838 mm takes 0.0329 in (0.8357 mm) and not 0.0330 in (0.8382 mm). The catheter
    # of 65 cm asks for 75 cm of wire (10 cm stand out of the hub). The coil of 0.035 in
    # (0.889 mm) in its lumen of 0.9652 mm is pushed by no wire under 0.0762 mm (0.003 in).
    soft = WireEnd.SOFT
    named = wire(0.035, front_end=soft)
    chain = (needle(inner_mm=0.838), named, sheath(5), catheter(), coil(0.035))
    sizes = ((0.0329, 180), (0.0330, 180), (0.0329, 75), (0.0329, 74.9), (0.02, 90))
    wires = tuple(wire(w, length_cm=cm, id=f"{w:.4f}-{cm:g}", front_end=soft) for w, cm in sizes)
    answer = fits(chain, Kit(wires=wires), PROTOCOL)
    (failing,) = answer.failing
    instead = next(mend for mend in failing.mends if mend.in_place_of == "wire")
    assert instead.devices == ("0.0329-180", "0.0329-75", "0.0200-90")


@pytest.mark.parametrize(
    ("width_mm", "length_mm", "place"),
    [
        # Widths rise 1, 2, 3 and lengths are 9, 4, 6: by hand.
        (1.0, 5.0, 0),
        (1.5, 5.0, 2),
        (1.5, 4.0, 1),
        # None is wide enough: the long enough one that lacks least in width.
        (3.5, 5.0, 2),
        # Wide enough and too short: 2 lacks 3 of length, 1 is long enough and lacks 0.5 of width.
        (1.5, 7.0, 0),
        # A silent question is failed by all: the first that is long enough.
        (None, 5.0, 0),
    ],
)
def test_the_first_of_a_row_that_fits_best(
    width_mm: float | None, length_mm: float, place: int
) -> None:
    assert Row([1.0, 2.0, 3.0], [9.0, 4.0, 6.0]).first(width_mm, length_mm) == place


def test_what_a_device_brings_along_decides_before_its_size() -> None:
    row = Row([1.0, 2.0], [9.0, 9.0], [Merit(1, 0.2), Merit(0, 0.0)])
    assert row.first(1.0, 5.0) == 1
    assert Row([], []).first(1.0, 5.0) is None
