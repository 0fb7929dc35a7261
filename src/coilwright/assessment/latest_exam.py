"""Which of several examinations of one side is read, said wherever that is not plain."""

from collections.abc import Iterable

from coilwright.assessment.stated_side import OfOneSide, latest_of_side
from coilwright.veins import Side


def which_exam(exams: Iterable[OfOneSide], side: Side, what: str) -> str:
    """A sentence where the latest is uncertain, for want of a date or for two of one day.

    Empty where there is one examination of this side, or one that is clearly the latest.
    """
    of_side = [exam for exam in exams if exam.side is side]
    latest = latest_of_side(of_side, side)
    if latest is None or len(of_side) == 1:
        return ""
    if any(exam.date is None for exam in of_side):
        return (
            f"Several of this side, not all dated: one without date counts as older ({what}.date)."
        )
    if sum(exam.date == latest.date for exam in of_side) > 1:
        return f"Several of this side have the date of the latest ({what}.date)."
    return ""
