"""The coils of a pull-list: at each level the first choice, a second, and another size."""

import math
from collections.abc import Iterable, Iterator

from coilwright.advice import Status
from coilwright.planning.plan import DeviceChoice, Level, LevelName
from coilwright.planning.pull_lines import Missing, PullRole, Purpose
from coilwright.planning.pull_tray import Tray, Want
from coilwright.planning.pull_way import objections_to
from coilwright.protocol import COMMON_PRACTICE, Citation

RANKING = Citation(source="computed: the plan's ranked choices", status=Status.COMPUTED)


def first_choice(level: Level) -> DeviceChoice | None:
    """The level's first choice among its coils, null where none can be advised first."""
    return next((c for c in level.choices if c.device == level.first_choice), None)


def ask_coil(name: LevelName, choice: DeviceChoice, tray: Tray) -> None:
    """The first choice, and a second one for safety."""
    tray.ask(
        Want(
            role=PullRole.FIRST_CHOICE,
            purpose=Purpose.COIL,
            level=name,
            device=choice.device,
            name=choice.name,
            why=f"First choice at the {name.value} level; the plan says why. {_at_hand(choice)}",
            rule="first-choice",
            basis=RANKING,
            against=objections_to(choice.device, choice.delivery.pairs),
        )
    )
    tray.ask(
        Want(
            role=PullRole.FIRST_CHOICE,
            purpose=Purpose.SECOND_COIL,
            level=name,
            device=choice.device,
            name=choice.name,
            why="A second coil is often placed for safety; no number of coils is said to do.",
            rule="second-coil",
            basis=COMMON_PRACTICE,
        )
    )


def ask_another_size(level: Level, tray: Tray) -> bool:
    """The next advised coil of another diameter of which the shelf has one; false if none."""
    first = first_choice(level)
    if first is None:
        return True
    others = (
        choice
        for choice in level.choices
        if choice.advised
        and not math.isclose(choice.oversize_ratio, first.oversize_ratio)
        and tray.left(choice.device) > 0
    )
    other = next(others, None)
    if other is None:
        return False
    tray.ask(
        Want(
            role=PullRole.BACK_UP,
            purpose=Purpose.ANOTHER_SIZE,
            level=level.name,
            device=other.device,
            name=other.name,
            why=f"If {first.name} will not form; the plan says why this size.",
            rule="next-choice",
            basis=RANKING,
            against=objections_to(other.device, other.delivery.pairs),
        )
    )
    return True


def without_coil(levels: Iterable[Level]) -> Iterator[Missing]:
    """The levels for which no coil can be advised."""
    for level in levels:
        if first_choice(level) is None:
            yield Missing(
                what=f"coil-{level.name}",
                device=None,
                short_by=None,
                text=f"a coil for the {level.name} level: {why_none(level)}",
            )


def why_none(level: Level) -> str:
    """Why no coil is the first choice at this level."""
    if level.relaxed is None:
        return "its relaxed calibre is not known, so none is sized"
    if not level.choices:
        return "the kit holds none that makes a loop there"
    return f"none can be advised; nearest: {level.choices[0].name}, {level.choices[0].why}"


def _at_hand(choice: DeviceChoice) -> str:
    """How many the plan counts, which is more than is laid out at first."""
    return f"The plan counts {choice.number_text}." if choice.number_text else ""
