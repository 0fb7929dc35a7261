"""Entries and the chain that shows when one was altered."""

import datetime as dt
import hashlib
from dataclasses import replace
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.record import Entry, canonical_json, chain, entry_hash, first_fault

AT = dt.datetime(2026, 3, 12, 9, 12, tzinfo=dt.UTC)


def entry(place: int, payload: dict[str, object] | None = None) -> Entry:
    return Entry(
        id=UUID(int=place + 1),
        stream="case-1",
        seq=0,
        at=AT,
        recorded_at=AT,
        author="Dr Invented",
        kind="coil_placed",
        payload=payload or {"place": place},
    )


CHAIN = chain([entry(place) for place in range(5)])


def test_canonical_json_sorts_keys_and_leaves_no_spaces() -> None:
    # The rule of RFC 8785, section 3.2.3, for keys that are plain letters.
    assert canonical_json({"b": [1, 2.5], "a": {"d": None, "c": "µ"}}) == (
        '{"a":{"c":"µ","d":null},"b":[1,2.5]}'
    )


@pytest.mark.parametrize("number", [float("nan"), float("inf")])
def test_canonical_json_refuses_numbers_that_are_not_finite(number: float) -> None:
    with pytest.raises(ValueError, match="JSON compliant"):
        canonical_json({"a": number})


def test_hash_is_sha256_of_the_canonical_json_written_by_hand() -> None:
    written = (
        '{"at":"2026-03-12T09:12:00+00:00","author":"Dr Invented",'
        '"id":"00000000-0000-0000-0000-000000000001","kind":"coil_placed",'
        '"payload":{"place":0},"previous_hash":"' + "0" * 64 + '",'
        '"recorded_at":"2026-03-12T09:12:00+00:00","seq":0,"stream":"case-1"}'
    )
    assert CHAIN[0].hash == hashlib.sha256(written.encode()).hexdigest()


def test_same_moment_in_another_time_zone_has_the_same_hash() -> None:
    there = AT.astimezone(dt.timezone(dt.timedelta(hours=2)))
    assert entry_hash(replace(CHAIN[0], at=there)) == CHAIN[0].hash


def test_chain_numbers_from_zero_and_holds() -> None:
    assert [e.seq for e in CHAIN] == [0, 1, 2, 3, 4]
    assert [e.previous_hash for e in CHAIN[1:]] == [e.hash for e in CHAIN[:-1]]
    assert first_fault(CHAIN) is None
    assert first_fault(()) is None


@pytest.mark.parametrize("place", range(5))
@pytest.mark.parametrize(
    "change",
    [
        {"payload": {"place": 99}},
        {"kind": "coil_withdrawn"},
        {"author": "Dr Nobody"},
        {"at": AT + dt.timedelta(seconds=1)},
        {"recorded_at": AT + dt.timedelta(seconds=1)},
        {"id": UUID(int=99)},
    ],
)
def test_altered_entry_is_found_where_it_stands(place: int, change: dict[str, object]) -> None:
    altered = list(CHAIN)
    altered[place] = replace(altered[place], **change)  # type: ignore[arg-type]  # named per test
    fault = first_fault(altered)
    assert fault is not None
    assert (fault.seq, fault.what) == (place, "it was altered after it was written")


@pytest.mark.parametrize("place", range(4))
def test_entry_altered_and_sealed_again_breaks_the_one_after_it(place: int) -> None:
    forged = replace(CHAIN[place], payload={"place": 99})
    entries = list(CHAIN)
    entries[place] = replace(forged, hash=entry_hash(forged))
    fault = first_fault(entries)
    assert fault is not None
    assert (fault.seq, fault.what) == (place + 1, "it does not follow from the entry before it")


def test_entry_taken_out_or_put_elsewhere_is_found() -> None:
    out = [*CHAIN[:2], *CHAIN[3:]]
    moved = [CHAIN[0], CHAIN[2], CHAIN[1], *CHAIN[3:]]
    for entries, place in ((out, 2), (moved, 1)):
        fault = first_fault(entries)
        assert fault is not None
        assert fault.seq == place
        assert fault.what == "an entry is missing or stands in the wrong place"


json_values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.text()
    | st.floats(allow_nan=False, allow_infinity=False),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=8,
)


@given(st.dictionaries(st.text(), json_values, max_size=4))
def test_hash_does_not_depend_on_the_order_of_keys(payload: dict[str, object]) -> None:
    backwards = dict(reversed(payload.items()))
    assert entry_hash(entry(0, payload)) == entry_hash(entry(0, backwards))


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"seq": -1}, "seq counts from 0"),
        ({"at": dt.datetime(2026, 3, 12)}, "need a time zone"),  # the mistake
        ({"stream": ""}, "needs a stream, a kind and an author"),
    ],
)
def test_entry_is_valid_once_it_exists(change: dict[str, object], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        replace(entry(0), **change)  # type: ignore[arg-type]  # wrong on purpose
