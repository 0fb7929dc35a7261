"""An assessment in lines of text: what is loud first, then chapter by chapter, sources numbered."""

import textwrap
from collections.abc import Iterable, Iterator, Sequence

from coilwright.advice import Urgency
from coilwright.assessment import Assessment, Chapter, ChapteredAdvisory
from coilwright.documents.figures import day
from coilwright.documents.local_limits import change_words
from coilwright.documents.page_advice import URGENCY_WORDS, Sources, signed_off_words

INDENT = "  "
FOOT = "    "
_LOUD = (Urgency.STOP_AND_THINK, Urgency.CAUTION)


def assessment_lines(assessment: Assessment, width: int) -> tuple[str, ...]:
    """The whole assessment, wrapped to ``width`` characters."""
    sources = Sources(assessment.advisories)
    sections: list[Iterable[str]] = [_head(assessment, width)]
    for urgency in _LOUD:
        loud = [a for a in assessment.advisories if a.urgency is urgency]
        sections.append(_section(URGENCY_WORDS[urgency].upper(), loud, sources, width))
    for chapter in Chapter:
        quiet = [
            a for a in assessment.advisories if a.chapter is chapter and a.urgency is Urgency.INFO
        ]
        sections.append(_section(chapter.heading, quiet, sources, width))
    sections += [
        _limits(assessment, width),
        _sources(sources, width),
        _wrapped(assessment.disclaimer, width, first="", then=""),
    ]
    return tuple(line for section in sections for line in section)


def _head(assessment: Assessment, width: int) -> Iterator[str]:
    loud = {u: sum(a.urgency is u for a in assessment.advisories) for u in Urgency}
    counted = (
        f"{loud[Urgency.STOP_AND_THINK]} to stop and think about, "
        f"{loud[Urgency.CAUTION]} to be careful with, {loud[Urgency.INFO]} noted"
    )
    yield from _wrapped(f"Assessment as of {day(assessment.on)}: {counted}", width, first="")
    yield ""


def _section(
    title: str, advisories: Sequence[ChapteredAdvisory], sources: Sources, width: int
) -> Iterator[str]:
    if not advisories:
        return
    yield title
    for advisory in advisories:
        yield from _wrapped(advisory.text, width, first="- ")
        yield from _wrapped(_footing(advisory, sources), width, first=FOOT, then=FOOT)
    yield ""


def _footing(advisory: ChapteredAdvisory, sources: Sources) -> str:
    """Rule, status, what went in, and the numbers of the sources."""
    notes = "".join(f"[{number}]" for number in sources.numbers_of(advisory))
    inputs = ", ".join(f"{name} {value}" for name, value in advisory.inputs.items())
    parts = (
        advisory.rule,
        advisory.status.value,
        signed_off_words(advisory),
        f"from {inputs}" if inputs else "",
    )
    return f"{notes} {'; '.join(filter(None, parts))}"


def _limits(assessment: Assessment, width: int) -> Iterator[str]:
    named = f"Limits: {assessment.limits} ({assessment.limits_version})"
    yield from _wrapped(named, width, first="")
    yield "Where sources disagree, followed here:"
    for question, answer in assessment.followed.items():
        yield from _wrapped(f"{question}: {answer}", width, first="- ")
    if assessment.local_changes:
        yield "The site's own:"
    for change in assessment.local_changes:
        yield from _wrapped(change_words(change), width, first="- ")
    yield ""


def _sources(sources: Sources, width: int) -> Iterator[str]:
    yield "Sources"
    for row in sources.rows():
        yield from _wrapped(f"[{row.number}] {row.text}", width)
    yield ""


def _wrapped(text: str, width: int, *, first: str = INDENT, then: str = INDENT) -> list[str]:
    return textwrap.wrap(
        text,
        width=width,
        initial_indent=first,
        subsequent_indent=then,
        break_long_words=False,
        break_on_hyphens=False,
    )
