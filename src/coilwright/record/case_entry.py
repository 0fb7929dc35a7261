"""Facts of a case as entries of its stream, and back."""

from datetime import datetime
from uuid import UUID

from coilwright.record.case_kinds import CASE_KINDS, DEVICE_KINDS
from coilwright.record.entry import Entry, Payload
from coilwright.record.entry_payload import UnreadableEntry, payload_of, read_payload
from coilwright.record.given_bounds import need_possible
from coilwright.record.stated import ImpossibleFact


def case_entry(
    kind: str,
    fact: object,
    *,
    stream: str,
    id: UUID,
    at: datetime,
    recorded_at: datetime,
    author: str,
) -> Entry:
    """A draft of the entry that holds the fact; its place in the stream is given when kept.

    Raises
    ------
    UnreadableEntry
        The kind is not one of a case's, or the fact is not what it holds or cannot be so.
    """
    draft = Entry(
        id=id,
        stream=stream,
        seq=0,
        at=at,
        recorded_at=recorded_at,
        author=author,
        kind=kind,
        payload=payload_of(fact),
    )
    if type(fact) is not shape_of(kind):
        raise UnreadableEntry(f"entry {id} ({kind}): payload: of another kind")
    if kind in DEVICE_KINDS and draft.payload["case"] != stream:
        raise UnreadableEntry(f"entry {id} ({kind}): case: not this stream; name this case")
    fact_of(draft)
    return draft


def shape_of(kind: str) -> type:
    """What the payload of a kind holds.

    Raises
    ------
    UnreadableEntry
        It is not one of a case's.
    """
    if kind not in CASE_KINDS:
        raise UnreadableEntry(f"a case has no entries of the kind {kind}")
    return CASE_KINDS[kind].shape


def fact_of(entry: Entry) -> object:
    """The fact that an entry holds, as it was first stated.

    Raises
    ------
    UnreadableEntry
        Its kind is not one of a case's, or its payload is not what that kind holds.
    """
    return stated_fact(entry.kind, entry.payload, id=entry.id)


def stated_fact(kind: str, payload: Payload, *, id: UUID) -> object:
    """The fact that a payload of that kind holds, as the entry ``id`` states it.

    Raises
    ------
    UnreadableEntry
        As for ``fact_of``.
    """
    fact = read_payload(shape_of(kind), payload, id=id, kind=kind)
    try:
        need_possible(fact)
    except ImpossibleFact as error:
        raise UnreadableEntry(f"entry {id} ({kind}): {error}") from error
    return fact
