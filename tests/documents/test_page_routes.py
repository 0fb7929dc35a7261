"""The ways to the vein and the stop rules in words: lower bounds first, nothing looks surer."""

import pytest

from coilwright.documents.page_routes import at_least, route_lines, route_title
from coilwright.documents.page_stop_rules import stop_rule_lines
from coilwright.kit import Kit
from coilwright.planning.plan import LevelName
from coilwright.planning.route import Access, RouteOption
from coilwright.planning.route_length import RouteLength
from coilwright.planning.routes import routes
from coilwright.planning.stop_rules import stop_rules
from coilwright.protocol import Protocol
from coilwright.veins import Side
from planning.route_cases import (
    PROTOCOL,
    catheter,
    kit_of,
    level_at,
    microcatheter,
    signed,
    way,
)
from planning.straight_trunks import straight_vessel, vein_map_of

KIT = kit_of(catheter(50, id="short"), catheter(100, id="long"), microcatheter(130, outer_fr=3.0))
MEASURED = {
    "right-internal-jugular-to-atrium": 170.0,
    "atrium-to-left-renal-vein": 220.0,
    "left-renal-vein-to-ostium": 60.0,
}


def texts(
    *,
    protocol: Protocol = PROTOCOL,
    kit: Kit = KIT,
    measured: dict[str, float] | None = None,
    height_cm: float | None = None,
) -> dict[str, str]:
    option = option_of(protocol=protocol, kit=kit, measured=measured, height_cm=height_cm)
    return {line.label: line.text for line in route_lines(option)}


def option_of(
    *,
    protocol: Protocol = PROTOCOL,
    kit: Kit = KIT,
    measured: dict[str, float] | None = None,
    height_cm: float | None = None,
) -> RouteOption:
    options = routes(
        vein_map_of(straight_vessel()),
        Side.LEFT,
        kit,
        protocol,
        measured_lengths_mm=measured or {},
        height_cm=height_cm,
        levels=(level_at(LevelName.DISTAL, 150, 180),),
    )
    return way(options, Access.RIGHT_INTERNAL_JUGULAR)


def test_the_title_names_the_side_of_the_puncture_and_that_of_the_vein() -> None:
    assert route_title(option_of()) == "Right internal jugular vein to the left gonadal vein"


def test_printed_bounds_are_never_tighter_than_the_computed_ones() -> None:
    text = at_least(RouteLength(value_mm=412, low_mm=398.9, high_mm=460.1))
    assert text == "at least 398 mm, up to 461 mm with the doubt of every part"
    assert at_least(RouteLength(low_mm=57.9)) == "at least 57 mm, how much more is not known"
    assert at_least(RouteLength()) == "not known"


def test_a_length_is_at_least_so_many_mm_and_says_where_each_part_is_from() -> None:
    # 170 + 220 + 60 mm, each with 10 mm either way: 420 to 480.
    said = texts(measured=MEASURED)["Length to the ostium"]
    assert said.startswith("At least 420 mm, up to 480 mm")
    assert "Measured on the table: right internal jugular vein" in said
    assert (
        "Measured on the run, projected" in texts(measured=MEASURED)["Length to the distal level"]
    )


def test_catheters_stand_by_what_their_label_says_and_by_how_much_they_are_short() -> None:
    # Needed 420 + 100 to 480 + 100 mm: 50 cm is 2 cm short of the least.
    said = texts(measured=MEASURED)["Catheters to the ostium"]
    assert "Long enough by label: catheter long (labelled 100 cm)." in said
    assert "Too short: catheter short (labelled 50 cm, by at least 2.0 cm)." in said


def test_nothing_is_long_enough_while_a_part_has_no_figure() -> None:
    said = texts(height_cm=175)
    assert "Long enough" not in "".join(said.values())
    assert said["Catheters to the ostium"].startswith("Cannot be told: catheter short")
    assert (
        "No figure: top of the right atrium to the left renal vein" in said["Length to the ostium"]
    )


def test_a_microcatheter_that_nothing_carries_says_so() -> None:
    # REVIEW 9: 3 F does not pass 0.038 in.
    said = texts(measured=MEASURED)["Microcatheters to the ostium"]
    assert "no catheter on the shelf is known to take it" in said


def test_limits_from_memory_are_named_until_they_are_signed() -> None:
    unsigned, by_signature = texts(measured=MEASURED), texts(measured=MEASURED, protocol=signed())
    for label in ("Length to the ostium", "Catheters to the ostium"):
        assert "by limits from memory, not signed off" in unsigned[label]
        assert "from memory" not in by_signature[label]


def test_what_must_be_measured_on_the_table_is_named_part_by_part() -> None:
    said = texts()["Measure on the table"]
    assert "along the left renal vein to the ostium" in said.lower()
    assert "19 to 26 cm" in said
    assert "body height (height_cm)" in texts()["Missing"]
    assert texts(measured=MEASURED)["Measure on the table"] == "Nothing: every part has a length."


def test_turns_by_anatomy_and_those_seen_are_told_apart() -> None:
    said = texts()["Turns"]
    assert said.startswith("2 by anatomy")
    assert "angle not known" in said
    assert "0 in the vein as projected" in said


def test_an_empty_shelf_says_so() -> None:
    assert texts(kit=Kit())["Catheters to the ostium"] == "None on the shelf."


@pytest.mark.parametrize(
    ("protocol", "minutes", "answer"),
    [
        (signed(), 5, "No stop rule is reached."),
        (PROTOCOL, 5, "Whether a stop rule is reached cannot be told in full: see each."),
        (PROTOCOL, 31, "A stop rule is reached: think of the next option."),
    ],
)
def test_the_stop_rules_answer_no_surer_than_their_limits(
    protocol: Protocol, minutes: float, answer: str
) -> None:
    found = stop_rules(KIT, protocol, minutes=minutes, kap_gy_cm2=5, contrast_ml=5)
    lines = stop_rule_lines(found)
    assert lines[0].text == answer
    assert [line.label for line in lines[1:4]] == [
        "Stop after minutes",
        "Stop after kap",
        "Stop after contrast",
    ]
    assert [line.label for line in lines[4:]] == [f"Next option {i}" for i in range(1, 7)]


def test_an_option_that_the_kit_cannot_tell_is_not_called_served() -> None:
    found = stop_rules(KIT, PROTOCOL, minutes=31, kap_gy_cm2=5, contrast_ml=5)
    balloon = next(line.text for line in stop_rule_lines(found) if "A balloon" in line.text)
    assert "(the kit cannot tell; its place in the order is from memory" in balloon
