"""The shelf in the terminal: its rows, its review, and what was said of a scan."""

from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # only named here: the command line must answer at once
    from coilwright.advice import Advisory
    from coilwright.kit import Kit
    from coilwright.planning import PullLine, PullList
    from coilwright.record import Batch, Shelf
    from coilwright.workflow.shelf_booking import Booked
    from coilwright.workflow.shelf_review import ShelfReview

NOT_STATED = "not stated"
Named = Callable[[str], str]


def named_by(kit: "Kit | None") -> Named:
    """A device's name in the kit by its identifier, or the identifier itself."""
    names = {device.udi_di: device.name for device in kit or ()}
    return lambda di: names.get(di) or di


def booked_lines(booked: "Booked", named: Named) -> Iterator[str]:
    """What was booked, with the entry to name if it has to be withdrawn, and what was said."""
    fact, kind = booked.fact, booked.entry.kind.replace("_", " ")
    pack = getattr(fact, "pack", None)
    count = getattr(fact, "count", getattr(fact, "change", getattr(fact, "level", None)))
    number = "" if count is None else f": {count}"
    of = "" if pack is None else f" x {named(pack.di)} ({pack})"
    yield f"{kind}{number}{of}, entry {booked.entry.id}"
    if booked.notice:
        yield f"  {booked.notice}"
    for advisory in booked.advisories:
        if advisory.urgency.value != "info":
            yield f"  {advisory_line(advisory)}"


def advisory_line(advisory: "Advisory") -> str:
    """Urgency, rule, text and source of one advisory."""
    urgency = advisory.urgency.value.replace("-", " ")
    return f"{urgency} ({advisory.rule}): {advisory.text} [{advisory.source}]"


def shelf_lines(shelf: "Shelf", named: Named) -> Iterator[str]:
    """One line a batch: how many, what, until when, and what the books do not show."""
    if not shelf.batches:
        yield "nothing is booked in yet"
    for batch in shelf.batches:
        yield _batch_line(batch, named)
    for gone in shelf.withdrawn:
        standing = "withdrawn" if gone.stands else "withdrawal withdrawn"
        kind = (gone.kind or "an entry that is not in the record").replace("_", " ")
        yield f"  {standing}: {kind} {gone.pack or ''} ({gone.entry}): {gone.why} [{gone.author}]"


def _batch_line(batch: "Batch", named: Named) -> str:
    pack = batch.pack
    stated = f"lot {pack.lot or NOT_STATED}, expiry {pack.expiry or NOT_STATED}"
    serial = f", serial {pack.serial}" if pack.serial else ""
    name = named(pack.di)
    di = "" if name == pack.di else f" [{pack.di}]"
    used = ", ".join(
        f"{word} {count}"
        for word, count in (
            ("opened", batch.opened),
            ("implanted", batch.implanted),
            ("wasted", batch.wasted + batch.wasted_in_cases),
            ("returned", batch.returned),
        )
        if count
    )
    notice = f"; {batch.notice}" if batch.notice else ""
    return f"{batch.on_shelf:>4}  {name}{di}: {stated}{serial}{'; ' + used if used else ''}{notice}"


def review_lines(review: "ShelfReview", named: Named) -> Iterator[str]:
    """What needs doing first, each part headed; a part that was not asked for says so."""
    yield f"shelf on {review.on}: {review.packs_on_shelf} packs"
    yield from _part("recalled", _recalled(review, named))
    yield from _part("expired", (_batch_line(b, named) for b in review.expired))
    yield from _part(
        f"expires before {review.next_list or 'the next list'}", _expiring(review, named)
    )
    yield from _part("no expiry stated", (_batch_line(b, named) for b in review.undated))
    yield from _part("does not add up", (_batch_line(b, named) for b in review.owed))
    yield from _part("not in the kit", (_batch_line(b, named) for b in review.not_in_catalogue))
    yield from _part(
        "to order",
        (
            f"{named(n.di)}: {n.usable} usable, order at {n.level}"
            + (f"; {n.undated} of these state no expiry" if n.undated else "")
            + (f"; {n.owed} more taken than booked in" if n.owed else "")
            for n in review.to_reorder
        ),
    )
    if review.sign_out is not None:
        yield from _part("sign-out", map(advisory_line, review.sign_out))
    if review.pull_list is not None:
        yield from pull_lines(review.pull_list)


def _part(title: str, lines: Iterable[str] | None) -> Iterator[str]:
    if lines is None:
        yield f"{title}: not asked"
        return
    found = list(lines)
    yield f"{title}: {'none' if not found else ''}".rstrip()
    yield from (f"  {line}" for line in found)


def _recalled(review: "ShelfReview", named: Named) -> Iterable[str] | None:
    if review.recalled is None:
        return None
    return (
        f"{_batch_line(one.batch, named)}: {advisory_line(said)}"
        for one in review.recalled
        for said in one.advisories
    )


def _expiring(review: "ShelfReview", named: Named) -> Iterable[str] | None:
    if review.expiring is None:
        return None
    return (_batch_line(batch, named) for batch in review.expiring)


def pull_lines(pulled: "PullList") -> Iterator[str]:
    """The pull-list by role, one device a line; then what is missing and the advisories.

    Why each stands there, with its source, is in the JSON: a tray is laid out from short lines.
    """
    yield f"pull-list{'' if pulled.on is None else f' for {pulled.on}'}:"
    for why in pulled.no_coils_because:
        yield f"  no coils: {why}"
    role = None
    for line in pulled.lines:
        if line.role is not role:
            role = line.role
            yield f" {role.value.replace('-', ' ')}"
        yield f"  {_pull_line(line)}"
    yield from _part(" missing", (missing.text for missing in pulled.missing))
    for advisory in pulled.advisories:
        yield advisory_line(advisory)
    yield pulled.disclaimer


def _pull_line(line: "PullLine") -> str:
    purpose = line.purpose.value.replace("-", " ")
    level = f", {line.level.value} level" if line.level else ""
    stock = f"{line.shelf_count:>3} on the shelf, expiry {line.expiry or NOT_STATED}"
    in_all = f", {line.needed_in_all} needed in all" if line.needed_in_all > line.needed else ""
    against = "".join(f"; {objection.text}" for objection in line.against)
    return f"{line.needed} x {line.name:<36} {stock}{in_all}: {purpose}{level}{against}"
