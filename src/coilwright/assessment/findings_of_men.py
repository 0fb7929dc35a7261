"""Findings are judged by rules for men; in a woman that is said, and none of them speaks."""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.facts import Facts, Sex
from coilwright.protocol import COMMON_PRACTICE, advise

FINDINGS_OF_MEN_RULE = "findings-of-men"


def findings_of_men(facts: Facts) -> tuple[Advisory, ...]:
    """One advisory for a woman; louder where findings of a man are recorded all the same."""
    if facts.patient.sex is not Sex.FEMALE:
        return ()
    tables = {
        "examination": facts.examination,
        "ultrasound": facts.ultrasound,
        "testes": facts.testes,
        "semen": facts.semen,
    }
    recorded = [key for key, table in tables.items() if table]
    odd = f" Recorded all the same, and not judged: {', '.join(recorded)}; check patient.sex."
    return (
        advise(
            rule=FINDINGS_OF_MEN_RULE,
            urgency=Urgency.CAUTION if recorded else Urgency.INFO,
            text="The rules on findings held here (clinical grade, ultrasound of the scrotum, "
            "testes, semen) are for men and do not apply to this patient."
            f"{odd if recorded else ''}",
            basis=(COMMON_PRACTICE,),
            inputs={"sex": "female"},
        ),
    )
