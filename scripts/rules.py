"""Write docs/rules.md: the stable id of every rule, and what it looks at.

Ids are read from the modules' own constants and calls, and, for the assessment, from what the
examples and the demo make them say.
"""

import ast
import datetime as dt
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from coilwright.assessment import Chapter, Sex, assessment_of
from coilwright.protocol import load_protocol
from coilwright.record import load_case

ROOT = Path(__file__).parents[1]
PACKAGES = ROOT / "src" / "coilwright"
MODULES = PACKAGES / "assessment"
# The rules outside the assessment, under the heading of their package.
OTHERS = {
    "kit": "Kit and device codes",
    "record": "Shelf",
    "planning": "Plan, route, pull-list",
    "workflow": "Case and plan together",
}
RULES_PAGE = ROOT / "docs" / "rules.md"
# Functions inside those packages whose first word is a rule's id.
ADVICE_MAKERS = ("_none", "_mouth_advisory")
ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)+")
A_DAY = dt.date(2026, 12, 31)
HEAD = """# Rules

Every advisory carries the id of its rule, in the JSON as `rule`. Ids stay. Those of the assessment
stand by chapter, the others by the part of the program that speaks.
`bupivacaine-max` stands for every other local anaesthetic too (`ropivacaine-max`, ...).
Made by `scripts/rules.py`. Limits, choices and sources stand in `src/coilwright/protocol/data/`.
"""


def rules_text() -> str:
    """The page: chapter by chapter, each id beside its module's first line."""
    chapters = _chapters_by_module()
    lines = [HEAD]
    for chapter in Chapter:
        lines += [f"## {chapter.heading}\n", "| rule | looks at |", "|---|---|"]
        for rule, module in sorted(_module_by_rule().items()):
            if chapters.get(module) is chapter:
                lines.append(f"| `{rule}` | {_first_line(module)} |")
        lines.append("")
    for package, heading in OTHERS.items():
        lines += [f"## {heading}\n", "| rule | looks at |", "|---|---|"]
        for rule, module in sorted(_stated_rules(PACKAGES / package).items()):
            lines.append(f"| `{rule}` | {_first_line(module)} |")
        lines.append("")
    return "\n".join(lines)


def _stated_rules(package: Path) -> dict[str, Path]:
    """Ids that a package's modules name: as a constant, as ``rule=``, or to a maker of advice."""
    found: dict[str, Path] = {}
    for module in sorted(package.glob("*.py")):
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
            for rule in _rules_in(node):
                found.setdefault(rule, module)
    return found


def _rules_in(node: ast.AST) -> Iterator[str]:
    if isinstance(node, ast.Assign) and _names_a_rule(node):
        yield str(ast.literal_eval(node.value))
    if isinstance(node, ast.Call):
        named = [word.value for word in node.keywords if word.arg == "rule"]
        makes_advice = isinstance(node.func, ast.Name) and node.func.id in ADVICE_MAKERS
        for value in (*named, *(node.args[:1] if makes_advice else ())):
            if isinstance(value, ast.Constant) and ID.fullmatch(str(value.value)):
                yield str(value.value)


def _module_by_rule() -> dict[str, Path]:
    """Which module holds each id, as a constant or spelled out in a call."""
    found = {}
    for module in sorted(MODULES.glob("*.py")):
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Assign) and _names_a_rule(node):
                found[ast.literal_eval(node.value)] = module
    for rule in _spoken():
        found.setdefault(rule, _module_with(rule))
    return found


def _names_a_rule(node: ast.Assign) -> bool:
    target, value = node.targets[0], node.value
    return (
        isinstance(target, ast.Name)
        and target.id.endswith("RULE")
        and isinstance(value, ast.Constant)
        and ID.fullmatch(str(value.value)) is not None
    )


def _module_with(rule: str) -> Path:
    """The module that spells the id, or builds it from the name of a drug."""
    for spelled in (f'"{rule}"', f'-{rule.rpartition("-")[2]}"'):
        for module in sorted(MODULES.glob("*.py")):
            if spelled in module.read_text(encoding="utf-8"):
                return module
    raise LookupError(f"no module holds the rule {rule}")


def _spoken() -> dict[str, Chapter]:
    """The chapter of every rule that speaks in an example or the demo, also were it a woman's."""
    cases = [file for file in (ROOT / "examples").glob("*.toml") if "limits" not in file.name]
    protocol, spoken = load_protocol(), {}
    for file in sorted([*cases, ROOT / "src" / "coilwright" / "demo" / "case.toml"]):
        case = load_case(file, A_DAY, files_needed=False)
        of_a_woman = replace(case, patient=replace(case.patient, sex=Sex.FEMALE))
        for one in (case, of_a_woman):
            for advisory in assessment_of(one.id, one.facts(A_DAY), protocol).advisories:
                spoken[advisory.rule] = advisory.chapter
    return spoken


def _chapters_by_module() -> dict[Path, Chapter]:
    spoken, modules = _spoken(), _module_by_rule()
    return {modules[rule]: chapter for rule, chapter in spoken.items()}


def _first_line(module: Path) -> str:
    doc = ast.get_docstring(ast.parse(module.read_text(encoding="utf-8"))) or ""
    return doc.split("\n\n")[0].replace("\n", " ")


def main() -> None:
    """Write the page."""
    RULES_PAGE.write_text(rules_text(), encoding="utf-8")


if __name__ == "__main__":
    main()
