"""The procedure report as PDF: the page's words through one template, nothing computed here."""

import json
import tempfile
from dataclasses import asdict, replace
from datetime import UTC, date, datetime, time
from importlib import resources
from pathlib import Path
from typing import Literal

import typst

from coilwright.advice import SHOWN_BESIDE
from coilwright.documents.page import CasePage
from coilwright.errors import InputError

TEMPLATE = "report.typ"
# PDF/A-2a (ISO 19005-2): for long filing, tagged so that it can be read aloud.
STANDARD: Literal["a-2a"] = "a-2a"
PICTURE = "map.png"
# A long case is set smaller before it runs over; below 85 % print is too small to read.
PRINT_SCALES = (1.0, 0.95, 0.9, 0.85)
MOST_PAGES = 3
# How the typesetter says that a letter has no font, or no meaning that a font could give it.
NO_FONT_WORDS = ("could not be displayed", "contains the codepoint")
NO_DAY = date(2000, 1, 1)


class NoFontFor(InputError):
    """The report holds characters that no font of this machine can show."""

    def __str__(self) -> str:
        return (
            "report: it holds characters that no installed font can show; install a font that has "
            "them."
        )


def report_pdf(page: CasePage, map_picture: bytes | None, straightened_svg: str) -> bytes:
    """The report as PDF/A, on two A4 pages and an annex where it can be; equal input, equal bytes.

    What is only shown beside the rule that is followed stands on the page, not in the report.

    Raises
    ------
    NoFontFor
        Text that no font can show: it would be lost on paper.
    """
    with tempfile.TemporaryDirectory(prefix="report-") as name:
        folder = Path(name)
        template = resources.files("coilwright.documents") / TEMPLATE
        (folder / TEMPLATE).write_bytes(template.read_bytes())
        (folder / "vein.svg").write_text(straightened_svg, encoding="utf-8")
        if map_picture is not None:
            (folder / PICTURE).write_bytes(map_picture)
        # The machine's own fonts only where ours fall short, so that most reports never differ.
        for own_fonts in (True, False):
            compiled = _fitted(folder, page, own_fonts=own_fonts)
            if compiled is not None:
                return compiled
    raise NoFontFor


def _fitted(folder: Path, page: CasePage, *, own_fonts: bool) -> bytes | None:
    """The PDF in the largest print that keeps it to three; None where a letter has no font."""
    printed = asdict(_for_print(page)) | {"has_picture": _has_picture(folder)}
    for print_scale in PRINT_SCALES:
        data = printed | {"print_scale": print_scale}
        (folder / "page.json").write_text(json.dumps(data), encoding="utf-8")
        if print_scale == PRINT_SCALES[-1] or _pages(folder, own_fonts=own_fonts) <= MOST_PAGES:
            break
    return _compiled(folder, page, own_fonts=own_fonts)


def _for_print(page: CasePage) -> CasePage:
    return replace(page, noted=tuple(row for row in page.noted if SHOWN_BESIDE not in row.text))


def _has_picture(folder: Path) -> bool:
    return (folder / PICTURE).exists()


def _pages(folder: Path, *, own_fonts: bool) -> int:
    counted = typst.query(
        folder / TEMPLATE,
        "<page-count>",
        field="value",
        one=True,
        root=folder,
        ignore_system_fonts=own_fonts,
    )
    return int(json.loads(counted))


def _compiled(folder: Path, page: CasePage, *, own_fonts: bool) -> bytes | None:
    try:
        return typst.compile(
            folder / TEMPLATE,
            root=folder,
            ignore_system_fonts=own_fonts,
            format="pdf",
            pdf_standards=[STANDARD],
            timestamp=_stamp(page.procedure_date),
        )
    except typst.TypstError as error:
        if any(words in str(error) for words in NO_FONT_WORDS):
            return None
        raise


def _stamp(procedure_date: str) -> datetime:
    """The day of the procedure at midnight: a clock would make every copy differ."""
    try:
        day = date.fromisoformat(procedure_date)
    except ValueError:
        day = NO_DAY
    return datetime.combine(day, time(), tzinfo=UTC)
