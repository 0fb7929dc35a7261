"""Templates to pages."""

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup
from pydantic import TypeAdapter
from starlette.responses import HTMLResponse

from coilwright.web.run_frames import FrameView
from coilwright.web.shown_case import ShownCase, ShownRun

VIEW_WORDS = {FrameView.SUBTRACTED: "Subtracted", FrameView.RAW: "Unsubtracted"}
BAR_WIDTH = 100

_TEMPLATES = Environment(
    loader=PackageLoader("coilwright.web", "templates"),
    undefined=StrictUndefined,
    autoescape=True,
    trim_blocks=True,
    lstrip_blocks=True,
)
_ISLAND = TypeAdapter(dict[str, object])


def case_html(shown: ShownCase, view: FrameView, frame: int) -> HTMLResponse:
    """The case page, with one frame of the run chosen."""
    text = _TEMPLATES.get_template("case.html").render(
        page=shown.page,
        doses=tuple(zip(shown.page.doses, map(_bar, shown.dose_shares), strict=True)),
        # Drawn by the program itself, never by what came in.
        vein_svg=Markup(shown.vein_svg),
        run=shown.run,
        view=view.value,
        views=[(v.value, words) for v, words in VIEW_WORDS.items()],
        frame=frame,
        island=None if shown.run is None else Markup(_island(shown.run)),
    )
    return HTMLResponse(text)


def fault_html(status: int, text: str) -> HTMLResponse:
    """A plain page that says what is wrong and where to go."""
    page = _TEMPLATES.get_template("fault.html").render(status=status, text=text)
    return HTMLResponse(page, status_code=status)


def _bar(share: float | None) -> float | None:
    """Length of a bar, no longer than its track."""
    return None if share is None else round(min(share, 1.0) * BAR_WIDTH, 1)


def _island(run: ShownRun) -> str:
    """What the page's script needs, as JSON that cannot end its own element."""
    data: dict[str, object] = {
        "frameWords": run.frame_words,
        "shiftsPx": run.frames.shifts_px,
        "trunk": None
        if run.trace is None or run.axis is None
        else {
            "arcMm": run.trace.arc_mm,
            "pointsPx": run.trace.points_px,
            "words": run.trace.words,
            "axis": {"x": run.axis.x, "arcMm": run.axis.arc_mm},
        },
    }
    return _ISLAND.dump_json(data).decode().replace("<", "\\u003c")
