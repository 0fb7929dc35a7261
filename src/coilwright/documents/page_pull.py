"""The pull-list in words: what to lay out, for what, and what the shelf holds of it."""

from coilwright.documents.figures import NOT_RECORDED, capital, day, with_plus_minus
from coilwright.documents.page import PullPage, PullRow
from coilwright.planning import PullLine, PullList


def pull_page(pulled: PullList) -> PullPage:
    """Every line of the list, by role, and what is missing."""
    return PullPage(
        day=day(pulled.on),
        rows=tuple(_row(line) for line in pulled.lines),
        no_coils=pulled.no_coils_because,
        missing=tuple(missing.text for missing in pulled.missing),
        advice=tuple(with_plus_minus(advisory.text) for advisory in pulled.advisories),
    )


def pull_line(page: PullPage) -> str:
    """The list in one line, for a terminal."""
    return f"pull-list: {len(page.rows)} lines; missing: {'; '.join(page.missing) or 'none'}"


def _row(line: PullLine) -> PullRow:
    level = f", {line.level.value} level" if line.level else ""
    in_all = f", {line.needed_in_all} in all" if line.needed_in_all > line.needed else ""
    return PullRow(
        role=capital(line.role.value.replace("-", " ")),
        needed=f"{line.needed}{in_all}",
        name=line.name,
        device=line.device,
        purpose=f"{line.purpose.value.replace('-', ' ')}{level}",
        shelf=str(line.shelf_count),
        expiry=NOT_RECORDED if line.expiry is None else line.expiry.isoformat(),
        against="; ".join(objection.text for objection in line.against),
        why=with_plus_minus(line.why),
    )
