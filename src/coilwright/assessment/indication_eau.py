"""What the European urologists recommend: treat, do not treat, may treat; and for adolescents."""

from coilwright.advice import Status
from coilwright.assessment.criterion import Criterion
from coilwright.assessment.facts import Facts
from coilwright.assessment.indication_facts import (
    abnormal_semen,
    azoospermia_rider,
    dna_fragmentation,
    failed_assisted_reproduction,
    infertility,
    normal_semen,
    otherwise_unexplained,
    palpable_varicocele,
    partner_reserve,
    subclinical_varicocele,
)
from coilwright.assessment.recommendation import Joined, Recommendation
from coilwright.assessment.testis_adolescent import (
    adolescent_criterion,
    adolescent_criterion_met,
)
from coilwright.protocol import Citation, Protocol

EAU = Citation(
    source="EAU guidelines on sexual and reproductive health, 2021-2024, varicocele",
    status=Status.RESTATED,
)
ESPU = Citation(
    source="EAU/ESPU guidelines on paediatric urology, chapter on varicocele",
    status=Status.RESTATED,
)


def eau_infertility(facts: Facts, protocol: Protocol) -> Recommendation:
    """Treat (strong): five conditions, all of them."""
    return Recommendation(
        rule="indication-eau-infertility",
        name="EAU, infertility",
        says="It recommends treatment (strong) in infertile men with a palpable varicocele, "
        "abnormal semen, infertility otherwise unexplained, and a partner with good ovarian "
        "reserve.",
        basis=(EAU,),
        criteria=(
            infertility(facts),
            palpable_varicocele(facts),
            abnormal_semen(facts, protocol),
            otherwise_unexplained(facts),
            partner_reserve(facts),
        ),
        rider=azoospermia_rider(facts),
    )


def eau_not_indicated(facts: Facts, protocol: Protocol) -> Recommendation:
    """Do not treat (weak or strong, as restated): normal semen, or subclinical."""
    return Recommendation(
        rule="indication-eau-not-indicated",
        name="EAU, advice against treatment",
        says="It advises against treatment where semen is normal or the varicocele subclinical; "
        "it speaks of fertility, not of pain or a small testis.",
        basis=(EAU,),
        criteria=(normal_semen(facts, protocol), subclinical_varicocele(facts)),
        joined=Joined.ANY,
        against=True,
    )


def eau_dna_fragmentation(facts: Facts) -> Recommendation:
    """May treat (weak): raised DNA fragmentation, or failed assisted reproduction."""
    return Recommendation(
        rule="indication-eau-dna-fragmentation",
        name="EAU, DNA fragmentation",
        says="It allows treatment (weak) where sperm DNA fragmentation is raised, or assisted "
        "reproduction failed again and again or pregnancies were lost.",
        basis=(EAU,),
        criteria=(dna_fragmentation(facts), failed_assisted_reproduction(facts)),
        joined=Joined.ANY,
    )


def espu_adolescent(facts: Facts, protocol: Protocol) -> Recommendation:
    """Treat (strong): a testis that stays small."""
    answer = adolescent_criterion_met(facts, protocol)
    missing = [key for a in adolescent_criterion(facts, protocol) for key in a.missing]
    return Recommendation(
        rule="indication-espu-adolescent",
        name="EAU/ESPU, adolescents",
        says="It recommends treatment (strong) where the testis stays small over two visits; the "
        "rule testis-adolescent-criterion says how that was judged.",
        basis=(ESPU,),
        criteria=(
            Criterion(
                name="persistently small testis",
                answer=answer,
                missing=() if answer is not None else tuple(missing),
            ),
        ),
        for_adults=False,
    )
