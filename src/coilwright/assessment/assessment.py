"""An assessment as a document: what was said, by which limits, on which day."""

import datetime as dt
import json
from collections.abc import Mapping
from dataclasses import dataclass, fields

from pydantic import TypeAdapter

from coilwright.advice import DISCLAIMER, Advisory
from coilwright.assessment.assess import assess_by_chapter
from coilwright.assessment.chapters import Chapter
from coilwright.assessment.facts import Facts
from coilwright.protocol import LocalChange, Protocol, choices_followed, local_changes

FORMAT = "coilwright.assessment"
VERSION = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class ChapteredAdvisory(Advisory):
    """An advisory and the chapter that it belongs to."""

    chapter: Chapter


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessment:
    """Everything that can be said of one case on one day, loudest first.

    ``followed`` maps each question that sources answer differently to the answer in force;
    ``local_changes`` are the site's own limits and sign-offs.
    """

    case: str
    on: dt.date
    limits: str
    limits_version: str
    followed: Mapping[str, str]
    local_changes: tuple[LocalChange, ...]
    advisories: tuple[ChapteredAdvisory, ...]
    disclaimer: str = DISCLAIMER


def assessment_of(case_id: str, facts: Facts, protocol: Protocol) -> Assessment:
    """The whole assessment of a case."""
    return Assessment(
        case=case_id,
        on=facts.on,
        limits=protocol.name,
        limits_version=protocol.version,
        followed=choices_followed(protocol),
        local_changes=local_changes(protocol),
        advisories=tuple(
            _filed(advisory, chapter) for advisory, chapter in assess_by_chapter(facts, protocol)
        ),
    )


def assessment_to_json(assessment: Assessment) -> str:
    """The assessment as a JSON document; numbers are finite or null."""
    document = {"format": FORMAT, "version": VERSION}
    document |= _ADAPTER.dump_python(assessment, mode="json")
    return json.dumps(document, allow_nan=False, ensure_ascii=False, indent=1) + "\n"


_ADAPTER = TypeAdapter(Assessment)


def _filed(advisory: Advisory, chapter: Chapter) -> ChapteredAdvisory:
    stated = {field.name: getattr(advisory, field.name) for field in fields(advisory)}
    return ChapteredAdvisory(**stated, chapter=chapter)
