"""What an advisory rests on, and the rule that no unsigned limit from memory looks satisfied."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from coilwright.advice import Advisory, Status, Urgency
from coilwright.protocol.limits import Choice, Limit

UNSIGNED = "Limit from memory, not signed off by the site: check."
UNSIGNED_FIGURE = "It rests on a wording or a figure from memory, not signed off by the site."

# From the best verified to the least: an advisory is no surer than the weakest thing under it.
_BEST_FIRST = (
    Status.COMPUTED,
    Status.PUBLISHED,
    Status.RESTATED,
    Status.COMMON_PRACTICE,
    Status.FROM_MEMORY,
)
_QUIET_FIRST = (Urgency.INFO, Urgency.CAUTION, Urgency.STOP_AND_THINK)


@dataclass(frozen=True, slots=True, kw_only=True)
class Citation:
    """A source that is not a limit: the paper of a formula, or a habit of the trade."""

    source: str
    status: Status


COMMON_PRACTICE = Citation(
    source="common practice, no source",
    status=Status.COMMON_PRACTICE,
)

Basis = Limit | Choice | Citation


def advise(
    *,
    rule: str,
    urgency: Urgency,
    text: str,
    basis: Sequence[Basis],
    value: float | None = None,
    between: tuple[float, float] | None = None,
    limit: float | None = None,
    left: float | None = None,
    unit: str | None = None,
    inputs: Mapping[str, str] | None = None,
    missing: Sequence[str] = (),
    judges: bool = True,
) -> Advisory:
    """An advisory with the sources, weakest status and sign-off of all that it rests on.

    ``between`` is the range that the value is thought to lie in. Where any limit is from memory and
    unsigned, the text says so and the urgency is at least caution, whatever the caller found;
    ``judges`` is false where they are only shown, or factors of an estimate.
    """
    unsigned = [b for b in basis if not isinstance(b, Citation) and not b.stands]
    signed = [b for b in basis if not isinstance(b, Citation) and b.signed_off_by]
    signatory = signed[0] if signed and not unsigned else None
    return Advisory(
        rule=rule,
        urgency=louder(urgency, Urgency.CAUTION) if unsigned and judges else urgency,
        text=f"{text} {UNSIGNED if judges else UNSIGNED_FIGURE}" if unsigned else text,
        source="; ".join(dict.fromkeys(b.source for b in basis)),
        status=weakest(b.status for b in basis),
        value=value,
        low=None if between is None else between[0],
        high=None if between is None else between[1],
        limit=limit,
        left=left,
        unit=unit,
        inputs=dict(inputs or {}),
        missing=tuple(missing),
        signed_off_by=_signed_by(signatory),
        signed_off_on=_signed_on(signatory),
    )


def weakest(statuses: Iterable[Status]) -> Status:
    """The least verified of several statuses."""
    return max(statuses, key=_BEST_FIRST.index)


def louder(one: Urgency, other: Urgency) -> Urgency:
    """The louder of two urgencies."""
    return max(one, other, key=_QUIET_FIRST.index)


def _signed_by(signatory: Limit | Choice | None) -> str | None:
    return None if signatory is None else signatory.signed_off_by


def _signed_on(signatory: Limit | Choice | None) -> date | None:
    return None if signatory is None else signatory.signed_off_on
