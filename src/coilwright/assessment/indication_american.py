"""What the American societies recommend; the later guideline is held from memory."""

from coilwright.advice import Status
from coilwright.assessment.facts import Facts
from coilwright.assessment.indication_facts import (
    abnormal_semen,
    azoospermia_rider,
    infertility,
    palpable_varicocele,
    sperm_in_semen,
)
from coilwright.assessment.recommendation import Recommendation
from coilwright.protocol import Citation, Protocol

ASRM = Citation(
    source="ASRM and Society for Male Reproduction and Urology, Report on varicocele and "
    "infertility: a committee opinion, Fertil Steril 2014;102:1556-1560",
    status=Status.RESTATED,
)


def asrm_2014(facts: Facts) -> Recommendation:
    """Palpable varicoceles alone, in infertility."""
    return Recommendation(
        rule="indication-asrm-2014",
        name="ASRM 2014",
        says="Of varicoceles with infertility it would have the palpable alone treated; imaging "
        "is for an examination that leaves doubt.",
        basis=(ASRM,),
        criteria=(infertility(facts), palpable_varicocele(facts)),
        rider=azoospermia_rider(facts),
    )


def aua_asrm_2020(facts: Facts, protocol: Protocol) -> tuple[Recommendation, ...]:
    """Palpable, infertile, abnormal semen, not azoospermic; nothing where the site leaves it out.

    It rests on a choice, so that the site can check the wording and sign it off.
    """
    choice = protocol.choice("aua-asrm-2020-recommendation")
    if choice.value == "left-out":
        return ()
    return (
        Recommendation(
            rule="indication-aua-asrm-2020",
            name="AUA/ASRM 2020",
            says="It would consider repair of a palpable varicocele with infertility and abnormal "
            "semen, not in azoospermia; not of a varicocele that only imaging shows.",
            basis=(choice,),
            criteria=(
                infertility(facts),
                palpable_varicocele(facts),
                abnormal_semen(facts, protocol),
                sperm_in_semen(facts),
            ),
        ),
    )
