"""A published per cent as it is told before consent: people, interval, and the per cent itself."""

from dataclasses import dataclass

from coilwright.assessment.natural_frequency import (
    natural_frequency,
    out_of,
    per_how_many,
    wilson_interval_percent,
)
from coilwright.protocol import Limit, Protocol


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One published figure.

    ``limits`` are what it was read from. ``upper_percent`` is the upper end where a range was
    published. ``counted`` holds events and those at risk where both were; ``nearness`` is "about",
    "more than" or "less than".
    """

    limits: tuple[Limit, ...]
    percent: float
    upper_percent: float | None = None
    counted: tuple[int, int] | None = None
    nearness: str = "about"
    whom: str = "men"

    @property
    def text(self) -> str:
        """The figure in words, with what stands behind it."""
        limit = self.limits[0]
        # A note on the published number does not speak of the site's own.
        note = limit.note if limit.overridden is None else "a number that the site put here"
        return f"{limit.title}: {self.nearness} {self._frequency}{self._counts}{_after(note)}"

    @property
    def reads(self) -> str:
        """The per cent before rounding, with the counts and their interval."""
        if self.upper_percent is not None:
            return f"{self.percent:g} to {self.upper_percent:g} %"
        published = f"{_sign(self.nearness)}{self.percent:g} %"
        if self.counted is None:
            return published
        events, of = self.counted
        low, high = wilson_interval_percent(events, of)
        return (
            f"{published}; {events} of {of} is {100.0 * events / of:.2f} %, 95 % interval "
            f"{low:.2f} to {high:.2f} % (Wilson)"
        )

    @property
    def _frequency(self) -> str:
        if self.upper_percent is None:
            return natural_frequency(self.percent, self.whom)
        # The finer count serves both ends, for they are to be compared.
        whole = max(map(per_how_many, (self.percent, min(self.upper_percent, 99.0))))
        low, high = out_of(self.percent, whole), out_of(self.upper_percent, whole)
        return f"{low} to {high} of {whole} {self.whom}"

    @property
    def _counts(self) -> str:
        if self.counted is None:
            return ""
        events, of = self.counted
        whole = per_how_many(self.percent)
        low, high = (out_of(bound, whole) for bound in wilson_interval_percent(events, of))
        return f" ({events} of {of}; 95 % interval {low} to {high} of {whole})"


def _after(note: str | None) -> str:
    return "" if note is None else f", {note}"


def _sign(nearness: str) -> str:
    return {"more than": "> ", "less than": "< "}.get(nearness, "")


def figure(protocol: Protocol, id: str, *, nearness: str = "about", whom: str = "men") -> Figure:
    """The figure of one limit, with the interval where events and those at risk are held too."""
    limit = protocol.limit(id)
    return Figure(
        limits=(limit,),
        percent=limit.value,
        counted=_counted(protocol, id),
        nearness=nearness,
        whom=whom,
    )


def _counted(protocol: Protocol, id: str) -> tuple[int, int] | None:
    """Events and those at risk; None where they were not published, or a site changed any of it.

    Counts belong to the published per cent alone, not to a number put in its place.
    """
    if f"{id}-of" not in protocol.limits:
        return None
    limits = [protocol.limit(one) for one in (id, f"{id}-events", f"{id}-of")]
    if any(limit.overridden is not None for limit in limits):
        return None
    return round(limits[1].value), round(limits[2].value)


def figure_range(protocol: Protocol, id: str, *, whom: str = "men") -> Figure:
    """The figure of a published range, from the limits of its two ends."""
    lower, upper = protocol.limit(f"{id}-lower"), protocol.limit(f"{id}-upper")
    return Figure(limits=(lower, upper), percent=lower.value, upper_percent=upper.value, whom=whom)
