"""The techniques beside each other in words, and what the levels leave open."""

from coilwright.documents.figures import capital, with_plus_minus
from coilwright.documents.page import TechniqueLine, TechniquesPage
from coilwright.planning import OcclusionPlan, TechniqueRow

NOT_WORKED_OUT = "Not worked out: the cautions say why."


def techniques_page(plan: OcclusionPlan) -> TechniquesPage:
    """One line a technique, in the order of the table; none is called the best."""
    left, table = plan.pathways_left, plan.techniques
    return TechniquesPage(
        pathways=NOT_WORKED_OUT if left is None else left.text,
        rows=() if table is None else tuple(_line(row) for row in table.rows),
        note=NOT_WORKED_OUT if table is None else table.text,
        look_here=() if table is None else tuple(place.text for place in table.look_here[:3]),
        advice=()
        if table is None
        else tuple(with_plus_minus(advisory.text) for advisory in table.advisories),
    )


def _line(row: TechniqueRow) -> TechniqueLine:
    return TechniqueLine(
        title=capital(row.title),
        chosen=row.chosen,
        closure=row.closure.text,
        rule=row.closure.rule_text,
        migration=row.migration.text,
        residual=capital(row.residual_text),
        volume=capital(with_plus_minus(row.volume.text)),
        implants=row.goods.implants_text,
        cost=row.goods.cost_text,
        compression=row.compression_text,
        published=f"{row.published.text} [{row.published.source}, {row.published.status.value}]",
        against=tuple(reason.text for reason in row.against),
    )
