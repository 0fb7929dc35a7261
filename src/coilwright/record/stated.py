"""Whether a stated value can be so; the bounds catch slips of the pen, they are no limits."""

import re

from coilwright.kit import ImpossibleLabel

# DICOM PS3.5, 9.1: figures and dots, at most 64.
_UID = re.compile(r"(0|[1-9][0-9]*)(\.(0|[1-9][0-9]*))+")
_UID_LENGTH = 64


class ImpossibleFact(ImpossibleLabel):
    """A fact of a case that cannot be so; names the field, what was found, the mend.

    What somebody wrote in words is never repeated: it may name the patient.
    """


def need_words(field: str, text: str | None) -> None:
    """Words where there is a text at all; None passes."""
    if text is not None and not text.strip():
        raise ImpossibleFact(field, "empty", "say it in words, or leave it out")


def need_within(field: str, value: float | None, between: tuple[float, float]) -> None:
    """A number between both bounds, themselves included; None passes."""
    low, high = between
    if value is not None and not low <= value <= high:
        mend = f"give a number from {low:g} to {high:g}"
        raise ImpossibleFact(field, f"{value:g} is not possible", mend)


def need_uid(field: str, uid: str | None) -> None:
    """A DICOM UID; None passes."""
    if uid is not None and (len(uid) > _UID_LENGTH or not _UID.fullmatch(uid)):
        raise ImpossibleFact(field, "no DICOM UID", "copy the SOP Instance UID of the run")
