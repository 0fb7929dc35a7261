"""What is printed, filed and shown of a case, from the folded case and the value types."""

from coilwright.documents.assessment_text import assessment_lines
from coilwright.documents.case_page import case_page
from coilwright.documents.page import (
    CasePage,
    CautionRow,
    ChoiceRow,
    DoseRow,
    ImplantRow,
    LevelRow,
    Line,
    PageHead,
    PullPage,
    PullRow,
    RouteCard,
    SourceRow,
    TechniqueLine,
    TechniquesPage,
    VeinRow,
)
from coilwright.documents.page_levels import level_line
from coilwright.documents.page_pull import pull_line
from coilwright.documents.report_pdf import NoFontFor, report_pdf
from coilwright.documents.straightened_vein import straightened_vein_svg

__all__ = [
    "CasePage",
    "CautionRow",
    "ChoiceRow",
    "DoseRow",
    "ImplantRow",
    "LevelRow",
    "Line",
    "NoFontFor",
    "PageHead",
    "PullPage",
    "PullRow",
    "RouteCard",
    "SourceRow",
    "TechniqueLine",
    "TechniquesPage",
    "VeinRow",
    "assessment_lines",
    "case_page",
    "level_line",
    "pull_line",
    "report_pdf",
    "straightened_vein_svg",
]
