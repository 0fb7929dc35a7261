"""The report, read back with a PDF reader that is not ours (pypdf)."""

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader

from coilwright.advice import SHOWN_BESIDE
from coilwright.documents import (
    CasePage,
    NoFontFor,
    case_page,
    report_pdf,
    straightened_vein_svg,
)
from coilwright.protocol import load_protocol
from coilwright.veins import VeinMap
from documents.cases_by_hand import DEMO_CASE, case_of, map_by_hand, plan_by_hand, pulled_by_hand


def picture() -> bytes:
    buffer = io.BytesIO()
    Image.new("RGB", (1250, 1056), (200, 200, 200)).save(buffer, format="PNG")
    return buffer.getvalue()


def made(folder: Path, text: str | None = None) -> tuple[CasePage, bytes]:
    case, vein_map = case_of(folder, text), map_by_hand()
    plan = plan_by_hand(case, vein_map)
    page = case_page(case, vein_map, plan, pulled_by_hand(plan), load_protocol())
    return page, report_pdf(page, picture(), straightened_vein_svg(vein_map, plan))


def sheets(pdf: bytes) -> list[str]:
    return [sheet.extract_text() for sheet in PdfReader(io.BytesIO(pdf)).pages]


def bare(words: str) -> str:
    """Without spaces: where a line breaks is no matter here."""
    return re.sub(r"\s", "", words)


def body(pdf: bytes, page: CasePage) -> str:
    """The sheets one after the other, without the running head and foot."""
    joined = ""
    for number, sheet in enumerate(sheets(pdf), start=1):
        foot = bare(f"{page.disclaimer}Page {number} of")
        joined += re.sub(re.escape(foot) + r"\d", "", bare(sheet))
    head = page.head
    running = (
        f"{page.hospital}, {page.department}{page.draft}"
        f"{head.patient_name}, ID {head.patient_id}, born {head.born}, side {head.side}"
        f"{page.procedure_date}"
    )
    return joined.replace(bare(running), "")


def printed(page: CasePage) -> Iterator[str]:
    """Every string of the page that the report shows."""
    head = page.head
    yield from (head.patient_name, head.patient_id, head.born, head.age, head.sex, head.side)
    yield from (head.allergies, page.title, page.operator, page.indication, page.access)
    yield from (page.technique, page.scale, page.picture_caption, page.straightened_caption)
    yield from (page.between_levels, page.order_rule, page.result, page.haemostasis)
    for line in (*page.background, *page.runs, *page.dose_notes):
        yield from (line.label, line.text)
    for vein in page.veins:
        yield from (vein.vessel, vein.kind, vein.joins, vein.length, vein.calibre, vein.how)
        yield vein.narrowings.removeprefix("none seen")
    for level in page.levels:
        yield from (level.name, level.where, level.along, level.measured, level.relaxed)
        yield from (level.relaxed_from, level.mouths, level.tip, level.first_words)
        assert level.first is not None
        yield from (level.first.shelf, level.first.delivery, level.first.why)
        for choice in level.next[:2]:
            yield from (choice.name, choice.oversize, choice.undersized, choice.shelf)
    for implant in page.implants:
        yield from (implant.level, implant.name, implant.device, implant.lot, implant.serial)
    for dose in page.doses:
        yield from (dose.what, dose.given, dose.ceiling, dose.left)
    noted = [row for row in page.noted if SHOWN_BESIDE not in row.text]
    for caution in (*page.stops, *page.cautions, *noted):
        yield from (caution.text, caution.rule)
    yield from (f"{source.number}. {source.text}" for source in page.sources)
    yield from (*page.aftercare, *page.follow_up, *page.notices, *page.missing, *page.assumptions)
    yield from (f"{line.label}: {line.text}" for line in page.limits)


def test_the_report_holds_every_figure_of_the_page(tmp_path: Path) -> None:
    page, pdf = made(tmp_path)
    text = body(pdf, page)
    absent = [words for words in printed(page) if bare(words) not in text]
    assert absent == []


def test_the_demo_case_takes_two_sheets_of_a4_and_an_annex(tmp_path: Path) -> None:
    _, pdf = made(tmp_path)
    reader = PdfReader(io.BytesIO(pdf))
    assert len(reader.pages) == 3
    # ISO 216: A4 is 210 x 297 mm; a point is 1/72 inch.
    box = reader.pages[0].mediabox
    assert float(box.width) == pytest.approx(210 / 25.4 * 72, abs=0.5)
    assert float(box.height) == pytest.approx(297 / 25.4 * 72, abs=0.5)


def test_every_sheet_names_patient_draft_disclaimer_and_its_number(tmp_path: Path) -> None:
    page, pdf = made(tmp_path)
    for number, sheet in enumerate(sheets(pdf), start=1):
        text = bare(sheet)
        for words in (page.head.patient_id, page.draft, page.disclaimer, f"Page {number} of 3"):
            assert bare(words) in text


def test_the_report_is_an_archive_file_and_says_so(tmp_path: Path) -> None:
    _, pdf = made(tmp_path)
    metadata = PdfReader(io.BytesIO(pdf)).xmp_metadata
    assert metadata is not None
    # ISO 19005-2, 6.6.4: part 2, conformance level A.
    packet = metadata.stream.get_data().decode()
    assert "<pdfaid:part>2</pdfaid:part>" in packet
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in packet


def test_the_same_page_gives_the_same_bytes(tmp_path: Path) -> None:
    assert made(tmp_path)[1] == made(tmp_path)[1]


def test_markup_in_what_people_write_comes_out_as_they_wrote_it(tmp_path: Path) -> None:
    wrote = r"#set page() $x^2$ <b>bold</b> & \emph _i_ *s* `raw` @ref //c [x] ~ -- ''q''"
    toml = wrote.replace("\\", "\\\\")
    text = DEMO_CASE.read_text(encoding="utf-8").replace('name = "Tarn, Oskar"', f'name = "{toml}"')
    page, pdf = made(tmp_path, text)
    assert page.head.patient_name == wrote
    assert all(bare(wrote) in bare(sheet) for sheet in sheets(pdf))


def test_a_case_without_a_run_says_that_nothing_was_measured(tmp_path: Path) -> None:
    case = case_of(tmp_path)
    nothing: VeinMap | None = None
    plan = replace(
        plan_by_hand(case, map_by_hand()), levels=(), sclerosant=None, vein_map_calibration=None
    )
    page = case_page(case, nothing, plan, pulled_by_hand(plan), load_protocol())
    pdf = report_pdf(page, None, straightened_vein_svg(nothing, plan))
    text = bare(" ".join(sheets(pdf)))
    for words in ("No run has arrived: nothing was measured", "No level is worked out"):
        assert bare(words) in text


def test_a_long_case_is_set_smaller_before_it_runs_over(tmp_path: Path) -> None:
    page, _ = made(tmp_path)
    more = replace(page, aftercare=page.aftercare * 2, cautions=page.cautions * 2)
    svg = straightened_vein_svg(None, plan_by_hand(case_of(tmp_path), map_by_hand()))
    # Print that can still be read goes before the number of sheets.
    assert len(sheets(report_pdf(more, picture(), svg))) <= 3


@pytest.mark.parametrize("letter", ["\ue000", "\u0378"])
def test_letters_that_no_font_has_are_refused_not_lost(tmp_path: Path, letter: str) -> None:
    # U+E000 is for private use, U+0378 is not assigned (Unicode 15): no font has them.
    page, _ = made(tmp_path)
    odd = replace(page, result=f"before {letter} after")
    svg = straightened_vein_svg(None, plan_by_hand(case_of(tmp_path), map_by_hand()))
    with pytest.raises(NoFontFor, match="install a font that has them"):
        report_pdf(odd, None, svg)
