"""The page of entries tells what the code holds."""

import importlib.util
import re
from pathlib import Path

from coilwright.record import CASE_KINDS

ROOT = Path(__file__).parents[2]


def page() -> str:
    return (ROOT / "docs" / "entries.md").read_text(encoding="utf-8")


def test_the_page_of_entries_is_that_of_the_code() -> None:
    spec = importlib.util.spec_from_file_location("entries", ROOT / "scripts" / "entries.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    assert page() == module.entries_text()


def test_every_kind_stands_on_the_page_once() -> None:
    told = re.findall(r"^\| `([a-z_]+)` \| [^|]+ \| (?:the latest|each|acts)", page(), re.MULTILINE)
    assert sorted(told) == sorted(CASE_KINDS)
