"""From a case file to its assessment; neither runs nor kit have to be there."""

from datetime import date
from pathlib import Path

from coilwright.assessment import Assessment, assessment_of
from coilwright.protocol import load_protocol
from coilwright.record import load_case


def assess_case(case_file: Path, *, today: date, overlay: Path | None = None) -> Assessment:
    """Everything that can be said of one case before and around the catheter.

    ``overlay`` is the site's own limits; ``today`` stands in for the day of the procedure where
    the case names none.

    Raises
    ------
    InputError
        The case or the overlay cannot be used.
    """
    case = load_case(case_file, today, files_needed=False)
    return assessment_of(case.id, case.facts(today), load_protocol(overlay))
