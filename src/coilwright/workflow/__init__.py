"""The use cases: receive and measure, plan, report."""

from coilwright.workflow.plan_case import plan_case
from coilwright.workflow.plan_folder import load_planned, outputs
from coilwright.workflow.planned_case import PlannedCase
from coilwright.workflow.report import report_pdf_of

__all__ = ["PlannedCase", "load_planned", "outputs", "plan_case", "report_pdf_of"]
