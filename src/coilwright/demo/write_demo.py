"""The demo case on disk: a rendered run, the case file with its marks, the kit, its shelf."""

import tempfile
import tomllib
from collections.abc import Callable
from importlib import resources
from pathlib import Path

from coilwright.demo.case_marks import marks_of, with_marks
from coilwright.demo.demo_run import write_labelled_run
from coilwright.demo.shelf_list import shelf_list
from coilwright.errors import FileProblem, Problem
from coilwright.phantom import demo_scene, render

CASE_NAME, KIT_NAME, RUN_NAME, SHELF_NAME = "case.toml", "kit.toml", "run.dcm", "shelf.csv"


def write_demo_case(folder: Path, progress: Callable[[str], None]) -> Path:
    """Render the demo's run into ``folder`` beside case, kit and shelf list; return the case file.

    The four files appear together or not at all; other files in the folder are left alone.

    Raises
    ------
    FileProblem
        The folder cannot be made or written to.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder, prefix=".demo-") as staging:
            _write_files(Path(staging), progress)
            for name in (RUN_NAME, SHELF_NAME, KIT_NAME, CASE_NAME):
                (Path(staging) / name).replace(folder / name)
    except OSError as error:
        raise _unwritable(folder, error) from error
    return folder / CASE_NAME


def _write_files(folder: Path, progress: Callable[[str], None]) -> None:
    progress("rendering the run")
    case_text = _packaged(CASE_NAME)
    rendered = render(demo_scene())
    write_labelled_run(rendered, tomllib.loads(case_text), folder / RUN_NAME)
    (folder / KIT_NAME).write_text(_packaged(KIT_NAME), encoding="utf-8")
    (folder / SHELF_NAME).write_text(shelf_list(folder / KIT_NAME), encoding="utf-8")
    marked = with_marks(case_text, marks_of(rendered.truth))
    (folder / CASE_NAME).write_text(marked, encoding="utf-8")


def _packaged(name: str) -> str:
    return (resources.files("coilwright.demo") / name).read_text(encoding="utf-8")


def _unwritable(folder: Path, error: OSError) -> FileProblem:
    problem = Problem(
        field="folder",
        found=(error.strerror or "cannot be written").lower(),
        mend="name a folder that can be made and written to",
    )
    return FileProblem(folder, problem)
