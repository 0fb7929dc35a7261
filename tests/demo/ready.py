"""The demo as a folder that is ready to be served, and what the command line said of it."""

import re
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadyDemo:
    """``said`` is the standard output of ``coilwright demo --no-serve``."""

    folder: Path
    said: str


def one_line(text: str) -> str:
    """The text with every run of white space as one space, as a reader takes it."""
    return re.sub(r"\s+", " ", text)
