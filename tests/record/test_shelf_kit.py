"""The catalogue takes count, lot and expiry from the shelf, never from itself."""

import datetime as dt
from dataclasses import fields, replace

from coilwright.kit import Device, Kit, ValueSource
from coilwright.record.shelf_facts import DeviceOpened, DeviceReceived, ShelfFact
from coilwright.record.shelf_fold import fold_shelf
from coilwright.record.shelf_kit import stocked_kit
from coilwright.record.shelf_pack import Pack
from kit.devices import catheter, demo_kit, wire
from record.shelf_entries import BATCH, COIL, LATER, recorded

ON = dt.date(2027, 3, 31)  # the last day of BATCH; LATER lasts a year longer
LABELLED = replace(catheter(), udi_di=COIL, shelf_count=7, lot="OLD", expiry=dt.date(2030, 1, 1))


def stocked(device: Device, on: dt.date, *facts: ShelfFact) -> Device:
    kit = Kit(catheters=(device,))  # type: ignore[arg-type]  # a catheter, passed on as a device
    (found,) = stocked_kit(kit, fold_shelf(recorded(*facts)), on)
    return found


def received(pack: Pack, count: int) -> DeviceReceived:
    return DeviceReceived(pack=pack, count=count)


def test_usable_packs_are_counted_and_the_first_to_expire_is_named() -> None:
    found = stocked(LABELLED, ON, received(LATER, 3), received(BATCH, 2))
    assert (found.shelf_count, found.lot, found.expiry) == (5, "L1", dt.date(2027, 3, 31))


def test_an_expired_batch_is_neither_counted_nor_named() -> None:
    found = stocked(LABELLED, dt.date(2027, 4, 1), received(LATER, 3), received(BATCH, 2))
    assert (found.shelf_count, found.lot, found.expiry) == (3, "L2", dt.date(2028, 3, 31))


def test_a_batch_without_an_expiry_counts_and_is_named_last() -> None:
    undated = Pack(di=COIL, lot="L0")
    found = stocked(LABELLED, ON, received(undated, 1), received(LATER, 1))
    assert (found.shelf_count, found.lot) == (2, "L2")
    alone = stocked(LABELLED, ON, received(undated, 1))
    assert (alone.shelf_count, alone.lot, alone.expiry) == (1, "L0", None)


def test_a_device_that_is_not_on_the_shelf_has_none_whatever_the_catalogue_says() -> None:
    opened = DeviceOpened(pack=BATCH, count=1, case="case-1")
    for facts in ((), (received(BATCH, 1), opened)):
        found = stocked(LABELLED, ON, *facts)
        assert (found.shelf_count, found.lot, found.expiry) == (0, None, None)


def test_a_device_without_an_identifier_cannot_be_found_on_the_shelf() -> None:
    found = stocked(replace(LABELLED, udi_di=None), ON, received(BATCH, 2))
    assert (found.shelf_count, found.lot, found.expiry) == (0, None, None)


def test_where_the_stock_was_read_is_the_shelf_and_the_label_stays_the_labels() -> None:
    sources = tuple(ValueSource(value=v, read_at="box") for v in ("lot", "expiry", "outer_fr"))
    device = replace(LABELLED, sources=sources)
    found = stocked(device, ON, received(BATCH, 2))
    for value in ("shelf_count", "lot", "expiry"):
        assert found.where_read(value) == "the record of the shelf"
    assert found.where_read("outer_fr") == "box"
    assert stocked(device, ON).where_read("outer_fr") == "box"


def test_every_device_of_the_catalogue_is_there_with_its_label_as_it_was() -> None:
    kit = demo_kit()
    empty = stocked_kit(kit, fold_shelf(()), ON)
    stock = {"shelf_count", "lot", "expiry", "sources"}
    for before, after in zip(kit, empty, strict=True):
        assert type(after) is type(before)
        for field in fields(before):
            if field.name not in stock:
                assert getattr(after, field.name) == getattr(before, field.name)


def test_each_device_gets_its_own_stock() -> None:
    other = replace(wire(0.035), udi_di="00400000000206")
    kit = Kit(catheters=(LABELLED,), wires=(other,))
    shelf = fold_shelf(recorded(received(BATCH, 2), received(Pack(di="00400000000206"), 4)))
    found = stocked_kit(kit, shelf, ON)
    assert found.device("catheter").shelf_count == 2
    assert found.device("wire").shelf_count == 4
