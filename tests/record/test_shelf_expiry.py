"""What runs out before the next list; what states no expiry is never taken to be in date."""

import datetime as dt

from coilwright.record.shelf_expiry import expires_before, usable_batches
from coilwright.record.shelf_facts import DeviceOpened, DeviceReceived
from coilwright.record.shelf_fold import fold_shelf
from record.shelf_entries import BATCH, LATER, UNDATED, recorded

# BATCH is good until 31 March 2027, that day included; LATER until 31 March 2028.
SHELF = fold_shelf(
    recorded(*(DeviceReceived(pack=pack, count=2) for pack in (LATER, UNDATED, BATCH)))
)


def test_a_batch_is_good_on_its_last_day_and_gone_on_the_next() -> None:
    assert expires_before(SHELF, dt.date(2027, 3, 31)).before == ()
    gone = expires_before(SHELF, dt.date(2027, 4, 1)).before
    assert [batch.pack for batch in gone] == [BATCH]


def test_the_soonest_stands_first_and_those_without_an_expiry_apart() -> None:
    expiring = expires_before(SHELF, dt.date(2030, 1, 1))
    assert [batch.pack for batch in expiring.before] == [BATCH, LATER]
    assert [batch.pack for batch in expiring.undated] == [UNDATED]


def test_what_is_not_on_the_shelf_does_not_run_out_there() -> None:
    taken = fold_shelf(
        recorded(
            DeviceReceived(pack=BATCH, count=1),
            DeviceOpened(pack=BATCH, count=1, case="case-1"),
            DeviceOpened(pack=UNDATED, count=1, case="case-1"),
        )
    )
    expiring = expires_before(taken, dt.date(2030, 1, 1))
    assert (expiring.before, expiring.undated) == ((), ())


def test_usable_batches_leave_out_the_expired_and_name_the_undated_last() -> None:
    on = dt.date(2027, 4, 1)
    assert [batch.pack for batch in usable_batches(SHELF.batches, on)] == [LATER, UNDATED]
    last_day = usable_batches(SHELF.batches, dt.date(2027, 3, 31))
    assert [batch.pack for batch in last_day] == [BATCH, LATER, UNDATED]
