"""What iodine in contrast medium may do to a thyroid that is ill or about to be treated."""

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.answers import said
from coilwright.assessment.facts import Facts
from coilwright.protocol import COMMON_PRACTICE, Basis, Citation, Protocol, advise, louder

THYROID_RULE = "thyroid-contrast"
OF_THYROID = Citation(
    source="ESUR Contrast Media Safety Committee, version 10, thyroid",
    status=Status.FROM_MEMORY,
)


def thyroid_contrast(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """One advisory: manifest overactivity, nodules or goitre, radioiodine, and what is unasked."""
    conditions = facts.conditions
    answers = {
        "hyperthyroidism": conditions.hyperthyroidism,
        "thyroid_nodules_or_goitre": conditions.thyroid_nodules_or_goitre,
        "radioiodine_planned": conditions.radioiodine_planned,
    }
    missing = tuple(f"conditions.{key}" for key, answer in answers.items() if answer is None)
    parts = [_of_one(key, protocol) for key, answer in answers.items() if answer]
    urgency = Urgency.CAUTION if missing else Urgency.INFO
    for part_urgency, _ in parts:
        urgency = louder(urgency, part_urgency)
    sentences = [text for _, text in parts]
    if missing:
        sentences.append(f"Not recorded of the thyroid: {', '.join(missing)}.")
    return (
        advise(
            rule=THYROID_RULE,
            urgency=urgency,
            text=" ".join(sentences)
            or "No overactive, nodular or enlarged thyroid and no radioiodine plan is recorded.",
            basis=_basis(bool(parts), bool(answers["radioiodine_planned"]), protocol),
            inputs={key.replace("_", " "): said(answer) for key, answer in answers.items()},
            missing=missing,
        ),
    )


def _of_one(key: str, protocol: Protocol) -> tuple[Urgency, str]:
    if key == "hyperthyroidism":
        text = (
            "Manifest hyperthyroidism: iodine may bring on a thyroid storm and contrast is held to "
            "be contraindicated; settle it with an endocrinologist first, or look for a way "
            "without iodine."
        )
        return Urgency.STOP_AND_THINK, text
    if key == "thyroid_nodules_or_goitre":
        text = (
            "Thyroid nodules or goitre: iodine may make the thyroid overactive in the weeks after; "
            "tell whoever follows the patient up."
        )
        return Urgency.CAUTION, text
    gap = protocol.limit("radioiodine-contrast-gap")
    text = (
        f"Radioiodine planned: for {gap.value:g} weeks after contrast the thyroid may not take it "
        "up; settle the order with those who plan it."
    )
    return Urgency.CAUTION, text


def _basis(present: bool, radioiodine: bool, protocol: Protocol) -> tuple[Basis, ...]:
    if not present:
        return (COMMON_PRACTICE,)
    gap = (protocol.limit("radioiodine-contrast-gap"),) if radioiodine else ()
    return (OF_THYROID, *gap)
