"""A checklist that was gone through: before, at the time-out, at the end."""

from dataclasses import dataclass
from enum import StrEnum

from coilwright.record.stated import ImpossibleFact, need_words


class Answer(StrEnum):
    """What was answered; a question that nobody asked stands in no list."""

    YES = "yes"
    NO = "no"
    NOT_APPLICABLE = "not-applicable"


@dataclass(frozen=True, slots=True, kw_only=True)
class ChecklistItem:
    """One question as it was put, its answer, and what was said besides."""

    question: str
    answer: Answer
    said: str | None = None

    def __post_init__(self) -> None:
        need_words("items.question", self.question)
        need_words("items.said", self.said)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChecklistCompleted:
    """A checklist by its name and version, with every answer that was given."""

    checklist: str
    items: tuple[ChecklistItem, ...]
    led_by: str | None = None

    def __post_init__(self) -> None:
        need_words("checklist", self.checklist)
        need_words("led_by", self.led_by)
        if not self.items:
            raise ImpossibleFact("items", "empty", "give each question with its answer")
