"""Reasons beside fertility for which hospitals treat adults."""

from coilwright.advice import Status
from coilwright.assessment.facts import Facts
from coilwright.assessment.indication_facts import (
    atrophied_testis,
    repaired_before,
    scrotal_ache,
)
from coilwright.assessment.recommendation import Joined, Recommendation
from coilwright.protocol import Citation, Protocol

HOSPITAL_PAGES = Citation(
    source="pages of several hospitals, United Kingdom and elsewhere, on varicocele embolisation "
    "in adults",
    status=Status.PUBLISHED,
)
ACUTE = "Acute pain is recorded too: that is a red flag, not the ache that these pages speak of."


def symptoms(facts: Facts, protocol: Protocol) -> Recommendation:
    """Pain, a small testis, or a varicocele back after surgery."""
    return Recommendation(
        rule="indication-symptoms",
        name="Hospital pages, symptoms",
        says="They treat adults for pain, testicular atrophy, or recurrence after surgery; atrophy "
        f"is judged here by asymmetry from {protocol.limit('testis-asymmetry-percent').value:g} %.",
        basis=(HOSPITAL_PAGES, protocol.limit("testis-asymmetry-percent")),
        criteria=(
            scrotal_ache(facts),
            atrophied_testis(facts, protocol),
            repaired_before(facts),
        ),
        joined=Joined.ANY,
        rider=ACUTE if facts.conditions.acute_pain else "",
    )
