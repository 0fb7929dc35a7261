"""Keeping the beam off the testes: a reminder, and the frames whose field reached them."""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.facts import Facts, Sex
from coilwright.assessment.given import RadiationGiven
from coilwright.protocol import COMMON_PRACTICE, Protocol, advise

TESTIS_RULE = "testis-collimation"
FRAMES_KEY = "given.radiation.frames_over_testes"


def collimation_reminder(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """The reminder, with the count of frames over the testes once there is one."""
    if facts.patient.sex is Sex.FEMALE:
        return ()
    threshold = protocol.limit("testis-sterility-threshold")
    radiation = facts.given.radiation
    over = None if radiation is None else radiation.frames_over_testes
    missing = (FRAMES_KEY,) if radiation is not None and over is None else ()
    return (
        advise(
            rule=TESTIS_RULE,
            urgency=Urgency.CAUTION if over else Urgency.INFO,
            text=" ".join(
                filter(
                    None,
                    (
                        _frames_words(radiation),
                        "Collimate above the scrotum, no runs over it, and count the frames whose "
                        "field reached the testes. No shield in the field: exposure control would "
                        "drive the dose up.",
                        f"Temporary sterility is seen from {threshold.value:g} {threshold.unit} to "
                        "the testes (a page after ICRP 118); their dose is not measured here.",
                    ),
                )
            ),
            basis=(COMMON_PRACTICE, threshold),
            value=None if over is None else float(over),
            unit=None if over is None else "frames",
            inputs=_inputs(radiation),
            missing=missing,
        ),
    )


def _frames_words(radiation: RadiationGiven | None) -> str:
    if radiation is None:
        return ""
    over, frames = radiation.frames_over_testes, radiation.frames
    if over is None:
        return f"Frames over the testes: not recorded: {FRAMES_KEY}."
    if frames is None:
        return f"The field reached the testes in {over} frames."
    if over > frames:
        return f"{over} frames over the testes are more than the {frames} recorded: check."
    return f"The field reached the testes in {over} of {frames} frames."


def _inputs(radiation: RadiationGiven | None) -> dict[str, str]:
    if radiation is None:
        return {}
    counts = {
        "frames": radiation.frames,
        "frames over the testes": radiation.frames_over_testes,
    }
    return {name: "not recorded" if n is None else f"{n}" for name, n in counts.items()}
