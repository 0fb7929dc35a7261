"""A published odds ratio between embolisation and surgery, with its direction in words."""

from dataclasses import dataclass

from coilwright.protocol import Limit, Protocol


@dataclass(frozen=True, slots=True, kw_only=True)
class OddsRatio:
    """The odds after one treatment over the odds after the other, with the 95 % interval.

    ``of_surgery`` is True where surgery stands above the line, False where embolisation does.
    """

    ratio: Limit
    lower: Limit
    upper: Limit
    of_surgery: bool

    @property
    def limits(self) -> tuple[Limit, ...]:
        """What it was read from."""
        return self.ratio, self.lower, self.upper

    @property
    def title(self) -> str:
        """What is compared."""
        return self.ratio.title

    @property
    def source(self) -> str:
        """Whose ratio it is."""
        return self.ratio.source

    @property
    def reads(self) -> str:
        """The ratio and its interval, and whose odds stand above the line."""
        interval = f"{self.lower.value:g} to {self.upper.value:g}"
        above, under = self._treatments
        return f"odds ratio {self.ratio.value:g} (95 % interval {interval}), {above} over {under}"

    @property
    def text(self) -> str:
        """Which treatment it is more frequent after, as far as the interval shows."""
        return f"{self.title.lower()} {self._direction} ({self.reads})"

    @property
    def _treatments(self) -> tuple[str, str]:
        both = ("sclero-embolisation", "surgery")
        return (both[1], both[0]) if self.of_surgery else both

    @property
    def _direction(self) -> str:
        above, under = self._treatments
        if self.lower.value <= 1.0 <= self.upper.value:
            return "without a difference that the interval shows"
        if self.ratio.value > 1.0:
            return f"more frequent after {above} than after {under}"
        return f"less frequent after {above} than after {under}"


def odds_ratio(protocol: Protocol, id: str, *, of_surgery: bool = False) -> OddsRatio:
    """The odds ratio of one limit, with the limits of the two ends of its interval."""
    return OddsRatio(
        ratio=protocol.limit(id),
        lower=protocol.limit(f"{id}-lower"),
        upper=protocol.limit(f"{id}-upper"),
        of_surgery=of_surgery,
    )
