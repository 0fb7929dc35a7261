"""Laws of the order of coils and plugs, over kits that nobody has seen."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from coilwright.kit import Coil, CoilDelivery, DeliveryCheck, Kit, Plug
from coilwright.planning import DeviceChoice, Level, LevelCalibre, plan_occlusion
from coilwright.planning.coil_ranking import Place, first_coil, rank_coils
from coilwright.planning.landing_zones import Stretch
from coilwright.planning.plug_ranking import rank_plugs
from coilwright.protocol import Protocol, load_protocol
from planning.straight_trunks import demo_kit, side_vein, straight_vessel, vein_map_of

PROTOCOL = load_protocol()
KIT = demo_kit()
ON = date(2026, 3, 12)
# The package's ceiling of the chance of an undersized first choice.
CEILING = 0.05


def place(relaxed_mm: float, sd_mm: float, ostium_mm: float | None = None) -> Place:
    relaxed = LevelCalibre(
        diameter_mm=relaxed_mm, sd_mm=sd_mm, where_from="measured", sd_parts_mm={}
    )
    return Place(zone=Stretch(from_mm=100, to_mm=130), relaxed=relaxed, ostium_mm=ostium_mm)


@st.composite
def deliveries(draw: st.DrawFn, device_id: str) -> DeliveryCheck:
    passes, device_passes = draw(st.sampled_from([(True, True), (False, True), (False, False)]))
    return DeliveryCheck(
        coil=device_id,
        passes=passes,
        coil_passes=device_passes,
        catheter="c",
        microcatheter=draw(st.sampled_from([None, "m"])),
        devices=(),
        pairs=(),
        would_do=(),
        text="as drawn",
    )


expiries = st.none() | st.integers(-300, 900).map(lambda days: ON + timedelta(days=days))


@st.composite
def coils(draw: st.DrawFn, coil_id: str) -> Coil:
    wire_inch = draw(st.sampled_from([0.010, 0.018, 0.035, 0.038, 0.05]))
    return Coil(
        id=coil_id,
        name=coil_id,
        read_at="drawn",
        shelf_count=draw(st.integers(0, 4)),
        expiry=draw(expiries),
        price=draw(st.none() | st.floats(1, 900)),
        diameter_mm=draw(st.one_of(st.integers(2, 24), st.floats(1.5, 25.0))),
        wire_diameter_inch=wire_inch,
        length_mm=draw(st.sampled_from([20, 50, 70, 140, 200, 400])),
        fibred=draw(st.booleans()),
        shape="helix",
        delivery=draw(st.sampled_from(list(CoilDelivery))),
    )


Stock = tuple[list[Coil], dict[str, DeliveryCheck]]


@st.composite
def stocks(draw: st.DrawFn, *, least: int = 1) -> Stock:
    """A shelf of coils that nobody sells, each with how it is delivered."""
    ids = [f"coil-{i}" for i in range(draw(st.integers(least, 9)))]
    drawn = [draw(coils(coil_id)) for coil_id in ids]
    return drawn, {coil_id: draw(deliveries(coil_id)) for coil_id in ids}


@st.composite
def sites(draw: st.DrawFn) -> Protocol:
    """The package's limits with a site's own oversize, sensible or not."""
    own = {
        "coil-oversize-min": draw(st.floats(0, 60)),
        "coil-oversize-max": draw(st.floats(5, 100)),
        "coil-oversize-max-mm": draw(st.floats(0, 10)),
    }
    limits = dict(PROTOCOL.limits)
    limits |= {id: replace(limits[id], value=value) for id, value in own.items()}
    return replace(PROTOCOL, limits=limits)


veins = st.floats(0.6, 22.0)


@settings(max_examples=600)
@given(
    stock=stocks(),
    narrow_mm=veins,
    wider_by_mm=st.floats(0, 9),
    sd_mm=st.floats(0, 2.5),
    site=sites(),
)
def test_with_all_else_equal_a_wider_vein_never_gets_a_narrower_first_coil(
    stock: Stock, narrow_mm: float, wider_by_mm: float, sd_mm: float, site: Protocol
) -> None:
    shelf, checks = stock
    firsts = [
        first_coil(shelf, checks, place(vein_mm, sd_mm), site, ON)
        for vein_mm in (narrow_mm, narrow_mm + wider_by_mm)
    ]
    if firsts[0] is not None and firsts[1] is not None:
        assert firsts[1].diameter_mm >= firsts[0].diameter_mm


@settings(max_examples=300)
@given(stock=stocks(), narrow_mm=veins, wider=st.floats(1, 1.8), relative_sd=st.floats(0, 0.3))
def test_a_wider_vein_that_is_as_surely_known_gets_no_narrower_coil_either(
    stock: Stock, narrow_mm: float, wider: float, relative_sd: float
) -> None:
    shelf, checks = stock
    firsts = [
        first_coil(shelf, checks, place(vein_mm, vein_mm * relative_sd), PROTOCOL, ON)
        for vein_mm in (narrow_mm, narrow_mm * wider)
    ]
    if firsts[0] is not None and firsts[1] is not None:
        assert firsts[1].diameter_mm >= firsts[0].diameter_mm


@settings(max_examples=300)
@given(stock=stocks(), relaxed_mm=veins, sd_mm=st.floats(0, 3), ostium_mm=st.none() | st.just(60.0))
def test_a_coil_that_may_travel_is_never_first_and_stands_last_with_the_reason(
    stock: Stock, relaxed_mm: float, sd_mm: float, ostium_mm: float | None
) -> None:
    shelf, checks = stock
    found = rank_coils(shelf, checks, place(relaxed_mm, sd_mm, ostium_mm), PROTOCOL, ON)
    travels = [choice.probability_undersized > CEILING for choice in found]
    assert travels == sorted(travels)
    for choice in found:
        if choice.probability_undersized > CEILING:
            assert choice.rank is None
            assert "may be narrower than the vein and travel" in choice.why
    # The worst of those that may travel is the very last.
    chances = [c.probability_undersized for c in found if c.probability_undersized > CEILING]
    assert chances == sorted(chances)


@settings(max_examples=200)
@given(stock=stocks(), relaxed_mm=veins, sd_mm=st.floats(0, 2))
def test_the_first_coil_alone_is_the_first_of_the_whole_order(
    stock: Stock, relaxed_mm: float, sd_mm: float
) -> None:
    shelf, checks = stock
    at = place(relaxed_mm, sd_mm, ostium_mm=40.0)
    ranked = rank_coils(shelf, checks, at, PROTOCOL, ON)
    alone = first_coil(shelf, checks, at, PROTOCOL, ON)
    ids = [choice.device for choice in ranked if choice.rank == 1]
    assert ids == ([] if alone is None else [alone.id])


def stated_order(choice: DeviceChoice, shelf: Sequence[Coil], at: Place) -> tuple[object, ...]:
    """ORDER_RULE once more, from its words and the choice's own figures; 25 % over is aimed at."""
    coil = next(coil for coil in shelf if coil.id == choice.device)
    zone_mm = at.zone.to_mm - at.zone.from_mm
    short_mm, long_mm = choice.nest_length_mm
    reaches = at.ostium_mm is not None and at.zone.to_mm - long_mm < at.ostium_mm
    assert choice.number is not None
    return (
        not choice.delivery.passes,
        choice.may_stretch_out,
        round(abs(coil.diameter_mm - 1.25 * at.relaxed.diameter_mm), 9),
        -coil.diameter_mm,
        choice.delivery.microcatheter is not None,
        short_mm > zone_mm,
        reaches,
        coil.shelf_count < choice.number,
        -coil.length_mm,
        coil.expiry or date.max,
        coil.id,
    )


@settings(max_examples=300)
@given(stock=stocks(least=2), relaxed_mm=st.floats(1.5, 22), sd_mm=st.floats(0, 2))
def test_more_coils_on_the_shelf_never_give_a_worse_first_coil_in_the_stated_order(
    stock: Stock, relaxed_mm: float, sd_mm: float
) -> None:
    shelf, checks = stock
    at = place(relaxed_mm, sd_mm, ostium_mm=40.0)
    before, after = (
        [c for c in rank_coils(held, checks, at, PROTOCOL, ON) if c.rank == 1]
        for held in (shelf[:-1], shelf)
    )
    if before:
        assert stated_order(after[0], shelf, at) <= stated_order(before[0], shelf, at)


@settings(max_examples=300)
@given(
    diameters_mm=st.lists(st.floats(2, 30), min_size=1, max_size=6),
    narrow_mm=veins,
    wider_by_mm=st.floats(0, 9),
    sd_mm=st.floats(0, 2),
    data=st.data(),
)
def test_a_wider_vein_never_gets_a_narrower_first_plug_and_no_first_plug_may_travel(
    diameters_mm: list[float],
    narrow_mm: float,
    wider_by_mm: float,
    sd_mm: float,
    data: st.DataObject,
) -> None:
    plugs = [
        Plug(id=f"p{i}", name="p", read_at="drawn", shelf_count=1, diameter_mm=diameter_mm)
        for i, diameter_mm in enumerate(diameters_mm)
    ]
    checks = {plug.id: data.draw(deliveries(plug.id)) for plug in plugs}
    firsts = [
        [c for c in rank_plugs(plugs, checks, place(vein, sd_mm), PROTOCOL, ON) if c.rank == 1]
        for vein in (narrow_mm, narrow_mm + wider_by_mm)
    ]
    sizes = {plug.id: plug.diameter_mm for plug in plugs}
    if firsts[0] and firsts[1]:
        assert sizes[firsts[1][0].device] >= sizes[firsts[0][0].device]
    assert all(c.probability_undersized <= CEILING for found in firsts for c in found)


VEIN_MAP = vein_map_of(straight_vessel(diameter_mm=5.0), side_vein("s", at_mm=70))


def part_of(kit: Kit, kept: set[str]) -> Kit:
    shelves = {
        name: tuple(d for d in getattr(kit, name) if d.id in kept)
        for name in Kit.__dataclass_fields__
    }
    return Kit(**shelves)


def merit(level: Level, kit: Kit) -> tuple[object, ...]:
    """The best plan at one level in the stated order, nothing at all being the worst."""
    first = next((choice for choice in level.choices if choice.rank == 1), None)
    if first is None or level.relaxed is None:
        return (True,)
    zone = Stretch(from_mm=level.zone.from_mm, to_mm=level.zone.to_mm)
    ostium_mm = 0.0 if level.name == "upper" else None
    at = Place(zone=zone, relaxed=level.relaxed, ostium_mm=ostium_mm)
    return (False, *stated_order(first, kit.coils, at))


ids_of_the_kit = sorted(device.id for device in KIT)


@settings(max_examples=60)
@given(kept=st.sets(st.sampled_from(ids_of_the_kit)), more=st.sampled_from(ids_of_the_kit))
def test_any_device_added_to_the_kit_never_worsens_the_plan_at_any_level(
    kept: set[str], more: str
) -> None:
    plans = [
        plan_occlusion(VEIN_MAP, part_of(KIT, held), PROTOCOL, on=ON)
        for held in (kept, kept | {more})
    ]
    for before, after in zip(plans[0].levels, plans[1].levels, strict=True):
        assert merit(after, KIT) <= merit(before, KIT)


def test_a_second_sheath_that_takes_no_wire_does_not_bar_the_way_of_the_first() -> None:
    # Both take the 5 F catheter; the narrower takes none of the wires.
    sheath = KIT.sheaths[0]
    blind = replace(sheath, id="blind", accepts_fr=5, accepts_wire_inch=0.009)
    wide = replace(sheath, id="wide", accepts_fr=6)
    found = plan_occlusion(VEIN_MAP, replace(KIT, sheaths=(blind, wide)), PROTOCOL, on=ON)
    assert all(level.choices[0].delivery.passes for level in found.levels)
    assert "wide" in found.levels[0].choices[0].delivery.devices
