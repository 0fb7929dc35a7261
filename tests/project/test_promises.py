"""What the project says of itself, read from its own files."""

import importlib.util
import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def script(name: str) -> object:
    spec = importlib.util.spec_from_file_location(name, ROOT / "scripts" / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize(
    "name",
    [
        "coilwright.vein-map",
        "coilwright.vein-network",
        "coilwright.least-closure",
        "coilwright.plan",
        "coilwright.assessment",
        "coilwright.comparison",
        "coilwright.fits",
    ],
)
def test_published_schemas_are_those_of_the_code(name: str) -> None:
    published = (ROOT / "docs" / "schemas" / f"{name}.1.json").read_text(encoding="utf-8")
    assert published == script("schemas").schema_text(name)  # type: ignore[attr-defined] # a script


def test_the_published_schema_of_the_case_file_is_that_of_its_reader() -> None:
    published = (ROOT / "docs" / "schemas" / "coilwright.case.1.json").read_text(encoding="utf-8")
    assert published == script("schemas").case_schema_text()  # type: ignore[attr-defined] # a script


def test_the_page_of_rules_is_that_of_the_code() -> None:
    published = (ROOT / "docs" / "rules.md").read_text(encoding="utf-8")
    assert published == script("rules").rules_text()  # type: ignore[attr-defined] # a script


def test_the_newest_changelog_version_is_the_packages() -> None:
    newest = re.search(r"^## (\S+)", (ROOT / "CHANGELOG.md").read_text(), re.MULTILINE)
    version = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["version"]
    assert newest is not None
    assert newest.group(1) == version


def test_no_requirements_file_names_a_host() -> None:
    for file in (ROOT / "requirements").glob("*.txt"):
        assert "://" not in file.read_text()


def test_every_requirement_is_hashed() -> None:
    for file in (ROOT / "requirements").glob("*.txt"):
        text = file.read_text()
        pins = re.findall(r"^[A-Za-z0-9_.-]+==", text, re.MULTILINE)
        blocks = re.split(r"\n(?=[A-Za-z0-9_.-]+==)", text)
        assert pins
        assert all("--hash=sha256:" in block for block in blocks if "==" in block)


def test_every_package_has_its_tests_folder() -> None:
    packages = {p.parent.name for p in (ROOT / "src" / "coilwright").glob("*/__init__.py")}
    folders = {p.name for p in (ROOT / "tests").iterdir() if p.is_dir()}
    assert packages <= folders
