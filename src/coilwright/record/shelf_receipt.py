"""What is said of a pack before it is booked in."""

from collections.abc import Collection, Iterable
from datetime import date

from coilwright.advice import Advisory, Urgency
from coilwright.kit import Kit, Recall, StatedDate, Udi, check_udi, identifier_agency
from coilwright.protocol import COMMON_PRACTICE, advise
from coilwright.record.shelf import Shelf
from coilwright.record.shelf_pack import Pack, pack_of
from coilwright.record.shelf_used import used_devices

BOOKED_IN_RULE = "shelf-booked-in-before"
CATALOGUE_RULE = "shelf-not-in-catalogue"


def check_receipt(
    udi: Udi, shelf: Shelf, kit: Kit, recalls: Collection[Recall], today: date
) -> tuple[Advisory, ...]:
    """What stops for thought first: expired, used, recalled, booked in twice, or not in the kit."""
    said = (
        *check_udi(udi, today=today, used=used_devices(shelf), recalls=recalls),
        *_booked_in_before(pack_of(udi), shelf),
        *_not_in_catalogue(udi, kit),
    )
    return tuple(sorted(said, key=lambda advisory: advisory.urgency is not Urgency.STOP_AND_THINK))


def stops(advisories: Iterable[Advisory]) -> tuple[Advisory, ...]:
    """Those that stop for thought."""
    return tuple(a for a in advisories if a.urgency is Urgency.STOP_AND_THINK)


def udi_of(pack: Pack, scan: str = "") -> Udi:
    """The pack as a scan would have named it, for the checks of a scan."""
    agency = identifier_agency(pack.di)
    if agency is None:
        raise ValueError(f"{pack.di} is no device identifier, so it was never a pack")
    day = pack.expiry
    return Udi(
        agency=agency,
        di=pack.di,
        raw=scan,
        lot=pack.lot,
        serial=pack.serial,
        expiry=None if day is None else StatedDate(year=day.year, month=day.month, day=day.day),
    )


def _booked_in_before(pack: Pack, shelf: Shelf) -> tuple[Advisory, ...]:
    """One serial number is one device: it cannot arrive twice."""
    if pack.serial is None:
        return ()
    before = [b for b in shelf.batches if _one_device(b.pack, pack) and b.received]
    if not before:
        return ()
    text = "A pack with this identifier and serial number was booked in already."
    return (
        advise(
            rule=BOOKED_IN_RULE,
            urgency=Urgency.STOP_AND_THINK,
            text=text,
            basis=(COMMON_PRACTICE,),
            inputs={"pack": str(pack), "booked in": str(before[0].pack)},
        ),
    )


def _one_device(one: Pack, other: Pack) -> bool:
    # Capitals are lost where one of the two was typed: rather stop once too often.
    same_serial = (one.serial or "").casefold() == (other.serial or "").casefold()
    return one.di == other.di and same_serial


def _not_in_catalogue(udi: Udi, kit: Kit) -> tuple[Advisory, ...]:
    if any(device.udi_di == udi.di for device in kit):
        return ()
    text = (
        "No device of the kit carries this identifier: it can be booked, but neither a plan nor "
        "a check of what fits knows it until the kit holds its label."
    )
    return (
        advise(
            rule=CATALOGUE_RULE,
            urgency=Urgency.CAUTION,
            text=text,
            basis=(COMMON_PRACTICE,),
            inputs={"device identifier": udi.di},
            missing=("udi_di of this device in the kit",),
        ),
    )
