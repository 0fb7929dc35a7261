"""The report of a planned case."""

from coilwright.documents import case_page, report_pdf, straightened_vein_svg
from coilwright.workflow.planned_case import PlannedCase


def report_pdf_of(planned: PlannedCase) -> bytes:
    """The procedure report as PDF."""
    page = case_page(
        planned.case, planned.vein_map, planned.plan, planned.pull_list, planned.protocol
    )
    straightened = straightened_vein_svg(planned.vein_map, planned.plan)
    return report_pdf(page, planned.map_picture, straightened)
