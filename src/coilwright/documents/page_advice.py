"""Advisories on the page, each with the number of its source in one list."""

from collections.abc import Sequence

from coilwright.advice import Advisory, Status, Urgency
from coilwright.documents.figures import with_plus_minus
from coilwright.documents.page import CautionRow, SourceRow

URGENCY_WORDS = {
    Urgency.STOP_AND_THINK: "Stop and think",
    Urgency.CAUTION: "Caution",
    Urgency.INFO: "Noted",
}


class Sources:
    """The page's sources, numbered as they are first named."""

    def __init__(self, advisories: Sequence[Advisory]) -> None:
        named = [source for advisory in advisories for source in _sources_of(advisory)]
        self._numbers = {text: place for place, text in enumerate(dict.fromkeys(named), start=1)}

    def numbers_of(self, advisory: Advisory) -> tuple[int, ...]:
        """The footnote numbers of an advisory's sources."""
        return tuple(self._numbers[source] for source in _sources_of(advisory))

    def rows(self) -> tuple[SourceRow, ...]:
        """The list of sources in the order of their numbers."""
        return tuple(SourceRow(number=place, text=text) for text, place in self._numbers.items())


def caution_rows(
    advisories: Sequence[Advisory], urgency: Urgency, sources: Sources
) -> tuple[CautionRow, ...]:
    """The advisories of one urgency, in the order they were given."""
    return tuple(
        CautionRow(
            urgency=URGENCY_WORDS[urgency],
            text=with_plus_minus(advisory.text),
            rule=advisory.rule,
            status=advisory.status.value,
            signed_off=signed_off_words(advisory),
            inputs=", ".join(f"{name} {value}" for name, value in advisory.inputs.items()),
            footnotes=sources.numbers_of(advisory),
        )
        for advisory in advisories
        if advisory.urgency is urgency
    )


def signed_off_words(advisory: Advisory) -> str:
    """Who at the site stands for the limit; empty where nobody has to."""
    if advisory.signed_off_by is not None:
        on = f" on {advisory.signed_off_on}" if advisory.signed_off_on else ""
        return f"signed off by {advisory.signed_off_by}{on}"
    return "not signed off by the site" if advisory.status is Status.FROM_MEMORY else ""


def stands(advisory: Advisory) -> bool:
    """False for a limit from memory that nobody has signed off: it never shows as satisfied."""
    return advisory.status is not Status.FROM_MEMORY or advisory.signed_off_by is not None


def _sources_of(advisory: Advisory) -> tuple[str, ...]:
    """An advisory joins its sources by "; "; one inside brackets or before "before:" is its own."""
    sources: list[str] = []
    for part in advisory.source.split("; "):
        open_bracket = bool(sources) and sources[-1].count("(") > sources[-1].count(")")
        if open_bracket or (sources and part.startswith("before: ")):
            sources[-1] += f"; {part}"
        else:
            sources.append(part)
    return tuple(dict.fromkeys(sources))
