"""The procedure report as PDF."""

from coilwright.documents.page import CasePage


def report_pdf(page: CasePage, map_picture: bytes | None, straightened_svg: str) -> bytes:
    """The report of one to two A4 pages, PDF/A."""
    raise NotImplementedError
