"""Where the open data for checks lies, and how a test asks for it."""

import os
from pathlib import Path

import pytest


def check_data(*parts: str) -> Path:
    """A path in the folder named by COILWRIGHT_CHECK_DATA; skips visibly where it is unset.

    Set, a missing file is a failure, never a skip.
    """
    folder = os.environ.get("COILWRIGHT_CHECK_DATA")
    if not folder:
        pytest.skip("COILWRIGHT_CHECK_DATA is not set: no open data to check against")
    path = Path(folder).joinpath(*parts)
    assert path.exists(), f"COILWRIGHT_CHECK_DATA is set, but {'/'.join(parts)} is missing"
    return path
