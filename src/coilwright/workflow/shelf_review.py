"""The shelf looked over before a list: what runs out, what is short, what a plan needs."""

import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from pydantic import TypeAdapter

from coilwright.advice import Advisory
from coilwright.kit import Kit, Recall
from coilwright.planning import OcclusionPlan, PullList, pull_list
from coilwright.protocol import Protocol
from coilwright.record import (
    Batch,
    Entry,
    RecalledBatch,
    Shelf,
    ToReorder,
    expires_before,
    fold_shelf,
    recalled_batches,
    sign_out,
    stocked_kit,
    to_reorder,
)

FORMAT = "coilwright.shelf-review"
VERSION = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What the review is to cover.

    ``on`` is the day it is made for. ``next_list`` null: what expires before it is not judged.
    ``recalls`` null: no list was given, which is not the same as none recalled. ``case`` is the
    one to sign out. ``plan`` and its limits bring the pull-list.
    """

    on: date
    next_list: date | None = None
    recalls: Collection[Recall] | None = None
    case: str | None = None
    plan: OcclusionPlan | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfReview:
    """What was found; null where it was not asked for, never where nothing was found."""

    on: date
    next_list: date | None
    packs_on_shelf: int
    expired: tuple[Batch, ...]
    expiring: tuple[Batch, ...] | None
    undated: tuple[Batch, ...]
    owed: tuple[Batch, ...]
    not_in_catalogue: tuple[Batch, ...]
    to_reorder: tuple[ToReorder, ...]
    recalled: tuple[RecalledBatch, ...] | None
    sign_out: tuple[Advisory, ...] | None
    pull_list: PullList | None


_ADAPTER = TypeAdapter(ShelfReview)


def review_shelf(
    entries: Sequence[Entry], kit: Kit, protocol: Protocol, asked: Asked
) -> ShelfReview:
    """Everything that the entries of the shelf, the kit and the plan say together."""
    shelf = fold_shelf(entries)
    known = {device.udi_di for device in kit}
    today = expires_before(shelf, asked.on)
    pulled = None
    if asked.plan is not None:
        stocked = stocked_kit(kit, shelf, asked.on)
        pulled = pull_list(asked.plan, stocked, protocol, on=asked.on)
    return ShelfReview(
        on=asked.on,
        next_list=asked.next_list,
        packs_on_shelf=sum(batch.on_shelf for batch in shelf.batches),
        expired=today.before,
        expiring=None
        if asked.next_list is None
        else _yet_to_expire(shelf, asked.on, asked.next_list),
        undated=today.undated,
        owed=tuple(batch for batch in shelf.batches if batch.notice),
        not_in_catalogue=tuple(
            batch for batch in shelf.batches if batch.on_shelf and batch.pack.di not in known
        ),
        to_reorder=to_reorder(shelf, asked.on),
        recalled=None if asked.recalls is None else recalled_batches(shelf, entries, asked.recalls),
        sign_out=None if asked.case is None else sign_out(shelf, asked.case),
        pull_list=pulled,
    )


def review_to_json(review: ShelfReview) -> str:
    """The document, format and version first."""
    body: dict[str, Any] = _ADAPTER.dump_python(review, mode="json")
    document = {"format": FORMAT, "version": VERSION} | body
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _yet_to_expire(shelf: Shelf, on: date, next_list: date) -> tuple[Batch, ...]:
    """Good on the day and no longer on the next list's."""
    before = expires_before(shelf, next_list).before
    return tuple(batch for batch in before if batch.pack.expiry and on <= batch.pack.expiry)
