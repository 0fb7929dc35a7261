"""What a site changed or signed off, in words: who, what, why and when."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from coilwright.protocol.limits import Choice, Limit
from coilwright.protocol.protocol import Protocol


@dataclass(frozen=True, slots=True, kw_only=True)
class LocalChange:
    """One limit or choice that is the site's own; ``value_before`` is None for a mere sign-off."""

    id: str
    title: str
    value: str
    value_before: str | None = None
    why: str | None = None
    changed_by: str | None = None
    changed_on: date | None = None
    signed_off_by: str | None = None
    signed_off_on: date | None = None


def local_changes(protocol: Protocol) -> tuple[LocalChange, ...]:
    """Every change and sign-off of the site, in order of the ids."""
    return tuple(_change(row) for row in protocol if row.overridden or row.signed_off_by)


def choices_followed(protocol: Protocol) -> dict[str, str]:
    """Where sources disagree: the question, and the answer that is followed."""
    choices: Iterable[Choice] = (row for row in protocol if isinstance(row, Choice))
    return {choice.title: choice.value for choice in choices}


def _change(row: Limit | Choice) -> LocalChange:
    before = row.overridden
    return LocalChange(
        id=row.id,
        title=row.title,
        value=_shown(row, row.value),
        value_before=None if before is None else _shown(row, before.value_before),
        why=None if before is None else before.why,
        changed_by=None if before is None else before.changed_by,
        changed_on=None if before is None else before.changed_on,
        signed_off_by=row.signed_off_by,
        signed_off_on=row.signed_off_on,
    )


def _shown(row: Limit | Choice, value: float | str) -> str:
    return f"{value:g} {row.unit}" if isinstance(row, Limit) else str(value)
