"""The web server of one case: its page, frames, data and downloads."""

from pathlib import Path

from fastapi import FastAPI, HTTPException, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, Response
from fastapi.staticfiles import StaticFiles
from pydantic import TypeAdapter
from starlette.exceptions import HTTPException as StarletteHTTPException

from coilwright.documents import CasePage
from coilwright.web.guard import Guard
from coilwright.web.pages import case_html, fault_html
from coilwright.web.run_frames import FrameView
from coilwright.web.shown_case import MEDIA_TYPES, ShownCase

STATIC = Path(__file__).parent / "static"
NO_PAGE = "There is no such page here."
_CASE_PAGE = TypeAdapter(CasePage)


def case_app(shown: ShownCase) -> FastAPI:
    """The server of one case; everything that it answers was put together before."""
    app = FastAPI(title="Coilwright", docs_url=None, redoc_url=None, openapi_url=None)
    app.add_middleware(Guard)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    _add_pages(app, shown)
    _add_faults(app)
    return app


def _add_pages(app: FastAPI, shown: ShownCase) -> None:
    case_json = _CASE_PAGE.dump_json(shown.page, indent=1)

    @app.get("/", response_class=HTMLResponse)
    def case(view: FrameView = FrameView.SUBTRACTED, frame: int | None = None) -> HTMLResponse:
        """``frame`` counts from 1 here, as on the page; without it, the one filled best."""
        if shown.run is None:
            return case_html(shown, view, 0)
        index = shown.run.frames.fullest if frame is None else frame - 1
        _require(0 <= index < shown.run.frames.count)
        return case_html(shown, view, index)

    @app.get("/case.json")
    def case_data() -> Response:
        return Response(case_json, media_type="application/json")

    @app.get("/frames/{index}")
    def frame_picture(index: int, view: FrameView = FrameView.RAW) -> Response:
        """One frame as PNG; ``index`` counts from 0, as in the vein map."""
        _require(shown.run is not None)
        pictures = () if shown.run is None else shown.run.frames.png[view]
        _require(0 <= index < len(pictures))
        return Response(pictures[index], media_type="image/png")

    @app.get("/files/{name}")
    def download(name: str) -> Response:
        _require(name in shown.files)
        return Response(
            shown.files[name],
            media_type=MEDIA_TYPES[Path(name).suffix],
            headers={"Content-Disposition": f'inline; filename="{name}"'},
        )


def _add_faults(app: FastAPI) -> None:
    """Every fault as a plain page; nothing of what was asked for is repeated in it."""

    @app.exception_handler(StarletteHTTPException)
    async def refused(_: Request, fault: StarletteHTTPException) -> HTMLResponse:
        text = NO_PAGE if fault.status_code == 404 else "That cannot be done here."
        return fault_html(fault.status_code, text)

    @app.exception_handler(RequestValidationError)
    async def misread(_: Request, __: RequestValidationError) -> HTMLResponse:
        return fault_html(422, "The address holds a value that does not fit.")


def _require(found: bool) -> None:
    if not found:
        raise HTTPException(status_code=404)
