"""How long reflux lasts on Valsalva, as far as the answers about it agree."""

from coilwright.assessment.findings import Ultrasound


def reflux_contradiction(exam: Ultrasound) -> str | None:
    """How the answers about reflux on Valsalva and its duration contradict each other, if so."""
    if exam.reflux_s is None:
        return None
    if exam.reflux_on_valsalva is False and exam.reflux_s > 0.0:
        return "no reflux on Valsalva, yet a duration of it"
    if exam.reflux_on_valsalva and exam.reflux_s == 0.0:
        return "reflux on Valsalva, yet a duration of nought"
    return None


def reflux_lasts_s(exam: Ultrasound) -> float | None:
    """Seconds of reflux on Valsalva; nought where there is recorded to be none, None if unknown."""
    if reflux_contradiction(exam) is not None:
        return None
    if exam.reflux_s is None and exam.reflux_on_valsalva is False:
        return 0.0
    return exam.reflux_s
