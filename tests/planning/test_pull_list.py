"""The pull-list: what is laid out for a plan, what stands against it, and what is not there.

The trunk of these plans is 6.0 mm wide. The local oversize of 20 to 30 % (or 1 to 2 mm) puts an
8 mm coil first and a 7 mm one next among coils of 0.035 in wire.
"""

import json
from collections import Counter
from collections.abc import Callable
from dataclasses import fields, replace
from datetime import date
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilwright.advice import Status, Urgency
from coilwright.kit import Device, Kit, Sclerosant
from coilwright.planning import LevelName, OcclusionPlan, SclerosantFigure, plan_occlusion
from coilwright.planning.pull_lines import Against, PullLine, PullList, PullRole, Purpose
from coilwright.planning.pull_list import pull_list
from coilwright.planning.pull_list_json import pull_list_to_json
from coilwright.protocol import load_protocol
from kit.devices import READ_AT
from planning.straight_trunks import demo_kit, straight_vessel, vein_map_of, without_landmarks

PROTOCOL = load_protocol()
DEMO = demo_kit()
DAY = date(2026, 3, 12)
TRUNK = vein_map_of(straight_vessel())
PLAN = plan_occlusion(TRUNK, DEMO, PROTOCOL, on=DAY)
NO_LEVELS = plan_occlusion(without_landmarks(TRUNK), DEMO, PROTOCOL, on=DAY)


def with_counts(kit: Kit, **counts: int) -> Kit:
    """The kit with other shelf counts, ``lw_8_140=3`` for the device lw-8-140."""
    by_id = {name.replace("_", "-"): count for name, count in counts.items()}
    return changed(kit, lambda d: replace(d, shelf_count=by_id.get(d.id, d.shelf_count)))


def with_expiry(kit: Kit, device_id: str, expiry: date | None) -> Kit:
    return changed(kit, lambda d: replace(d, expiry=expiry) if d.id == device_id else d)


def changed(kit: Kit, change: Callable[[Any], Device]) -> Kit:
    shelves = {f.name: tuple(change(d) for d in getattr(kit, f.name)) for f in fields(kit)}
    return Kit(**shelves)  # type: ignore[arg-type]  # each shelf keeps its own kind


def pulled(kit: Kit = DEMO, plan: OcclusionPlan = PLAN, on: date | None = DAY) -> PullList:
    return pull_list(plan, kit, PROTOCOL, on=on)


def devices(listed: PullList, purpose: Purpose) -> list[str]:
    return [line.device for line in listed.lines if line.purpose is purpose]


def line_of(listed: PullList, device: str) -> PullLine:
    return next(line for line in listed.lines if line.device == device)


def against(line: PullLine) -> list[Against]:
    return [objection.against for objection in line.against]


def test_each_level_gets_its_first_coil_and_a_second_for_safety() -> None:
    listed = pulled()
    # Both levels of an even trunk take the same coil: two each, four in all; five on the shelf.
    coils = [ln for ln in listed.lines if ln.purpose in (Purpose.COIL, Purpose.SECOND_COIL)]
    assert [line.device for line in coils] == ["lw-8-140"] * 4
    assert {line.needed_in_all for line in coils} == {4}
    assert {line.shelf_count for line in coils} == {5}
    assert (coils[0].lot, coils[0].expiry) == ("LW26A117", date(2028, 12, 31))
    assert listed.missing == ()


def test_a_habit_of_the_trade_is_told_as_such() -> None:
    listed = pulled()
    second = next(line for line in listed.lines if line.purpose is Purpose.SECOND_COIL)
    # REVIEW.md 9: no rule that one coil is enough. A second for safety is a habit without source.
    assert (second.source, second.status) == ("common practice, no source", Status.COMMON_PRACTICE)
    assert "no number of coils is said to do" in second.why


def test_one_coil_for_two_levels_is_short_by_what_the_sum_lacks() -> None:
    listed = pulled(with_counts(DEMO, lw_8_140=3))
    (missing,) = listed.missing
    # Two a level make four; three are there.
    assert (missing.device, missing.short_by) == ("lw-8-140", 1)
    assert "4 needed" in missing.text
    assert "3 on the shelf" in missing.text
    assert Against.FEWER_THAN_NEEDED in against(line_of(listed, "lw-8-140"))


def test_the_way_is_laid_out_once_for_both_levels() -> None:
    way = [line for line in pulled().lines if line.purpose is Purpose.WAY]
    # 0.035 in wire: a 0.97 mm thin-wall needle (0.838 mm regular wall does not pass 0.889 mm),
    # the 5 F sheath for the 5 F catheter, the wire that also pushes.
    assert [line.device for line in way] == [
        "needle-18-thin",
        "wire-35-180",
        "sheath-5-11",
        "cath-5-65",
    ]
    assert {line.needed for line in way} == {1}


def test_the_back_up_coil_is_of_another_diameter() -> None:
    # lw-7-140 (17 % over) comes after sm-8-140, which is the same 8 mm.
    assert devices(pulled(), Purpose.ANOTHER_SIZE) == ["lw-7-140", "lw-7-140"]


def test_a_level_without_another_size_left_on_the_shelf_is_told() -> None:
    # One 7 mm coil beside the 8 mm ones: it serves the far level, which is placed first.
    coils = tuple(c for c in DEMO.coils if c.id in ("lw-7-140", "lw-8-140"))
    kit = with_counts(replace(DEMO, coils=coils), lw_7_140=1)
    listed = pulled(kit, plan_occlusion(TRUNK, kit, PROTOCOL, on=DAY))
    sizes = [line for line in listed.lines if line.purpose is Purpose.ANOTHER_SIZE]
    assert [(line.device, line.level) for line in sizes] == [("lw-7-140", LevelName.DISTAL)]
    told = [a.text for a in listed.advisories if a.rule == "no-back-up-size"]
    assert len(told) == 1
    assert "upper level" in told[0]


def test_a_first_choice_through_a_microcatheter_brings_it_and_asks_for_no_other() -> None:
    microcoils = tuple(coil for coil in DEMO.coils if coil.wire_diameter_inch == 0.018)
    kit = replace(DEMO, coils=microcoils)
    listed = pulled(kit, plan_occlusion(TRUNK, kit, PROTOCOL, on=DAY))
    assert {"cath-5-65", "micro-27-130", "wire-18-200"} <= set(devices(listed, Purpose.WAY))
    assert devices(listed, Purpose.MICROCATHETER) == []
    # Two at each of two levels, and the shelf holds two.
    assert [(m.device, m.short_by) for m in listed.missing] == [("sm-8-140", 2)]
    # The hook has the lumen that takes 2.7 F.
    assert devices(listed, Purpose.ANOTHER_SHAPE) == ["cath-5-65-hook"]


def test_another_shape_that_passes_the_same_chain_is_laid_out() -> None:
    # The hook has the 5 F outside and 0.038 in lumen of the first choice.
    assert devices(pulled(), Purpose.ANOTHER_SHAPE) == ["cath-5-65-hook"]


def test_a_shape_too_long_for_the_wire_of_the_chain_is_not_offered() -> None:
    # 180 cm of wire leave nothing to hold beyond 175 cm: 175 + 10 cm at the hub are needed.
    long_hook = changed(
        DEMO, lambda d: replace(d, length_cm=175) if d.id == "cath-5-65-hook" else d
    )
    assert devices(pulled(long_hook), Purpose.ANOTHER_SHAPE) == []


def test_a_shape_of_which_the_label_is_silent_is_not_called_another() -> None:
    silent = changed(DEMO, lambda d: replace(d, tip=None) if d.id == "cath-5-65-hook" else d)
    assert devices(pulled(silent), Purpose.ANOTHER_SHAPE) == []


def test_the_microcatheter_comes_with_its_wire_and_a_coil_for_each_level() -> None:
    listed = pulled()
    # 2.7 F is 0.90 mm and passes 0.038 in (0.965 mm); its 0.021 in lumen takes 0.018 in.
    assert devices(listed, Purpose.MICROCATHETER) == ["micro-27-130"]
    assert devices(listed, Purpose.MICRO_WIRE) == ["wire-18-200"]
    assert devices(listed, Purpose.MICRO_COIL) == ["sm-8-140", "sm-8-140"]


def test_a_3_french_microcatheter_alone_is_no_back_up_in_a_lumen_of_0_038_inch() -> None:
    # CLINICAL.md section 7: 3 F is 1.00 mm, 0.038 in is 0.965 mm.
    listed = pulled(with_counts(DEMO, micro_27_130=0))
    assert devices(listed, Purpose.MICROCATHETER) == []


def test_one_spare_of_the_chain_where_the_shelf_has_one() -> None:
    spares = devices(pulled(with_counts(DEMO, cath_5_65=1)), Purpose.ANOTHER_ONE)
    # The only multipurpose of 65 cm is in use; the other is 100 cm long, so no spare of it.
    assert spares == ["needle-18-thin", "wire-35-180", "sheath-5-11"]


def test_an_article_of_the_same_size_is_the_spare_of_one_that_is_used_up() -> None:
    twin = replace(DEMO.sheaths[0], id="sheath-5-twin", name="another 5 F sheath")
    kit = replace(with_counts(DEMO, sheath_5_11=1), sheaths=(*DEMO.sheaths, twin))
    kit = with_counts(kit, sheath_5_11=1)
    assert "sheath-5-twin" in devices(pulled(kit), Purpose.ANOTHER_ONE)


@pytest.mark.parametrize(
    ("expiry", "expected"),
    [
        (date(2026, 3, 11), [Against.EXPIRES_BEFORE]),
        (DAY, []),  # the expiry is the last day of use
        (None, [Against.EXPIRY_NOT_STATED]),
    ],
)
def test_expiry_is_judged_by_the_day_of_the_procedure(
    expiry: date | None, expected: list[Against]
) -> None:
    listed = pulled(with_expiry(DEMO, "needle-18-thin", expiry))
    assert against(line_of(listed, "needle-18-thin")) == expected


def test_what_is_past_its_date_when_it_is_laid_out_is_called_expired() -> None:
    kit = with_expiry(DEMO, "needle-18-thin", date(2026, 3, 10))
    listed = pull_list(PLAN, kit, PROTOCOL, on=DAY, pulled_on=date(2026, 3, 11))
    assert against(line_of(listed, "needle-18-thin")) == [Against.EXPIRED]
    (missing,) = listed.missing
    assert (missing.device, missing.short_by) == ("needle-18-thin", 1)
    assert "6 on the shelf, past their date (2026-03-10)" in missing.text


def test_without_a_day_no_expiry_is_judged_and_that_is_said() -> None:
    listed = pulled(with_expiry(DEMO, "needle-18-thin", date(2020, 1, 1)), on=None)
    assert "expiry-not-judged" in [advisory.rule for advisory in listed.advisories]
    assert listed.missing == ()


def test_a_device_that_the_kit_no_longer_lists_is_missing_by_its_id() -> None:
    kit = replace(DEMO, needles=DEMO.needles[1:])
    listed = pulled(kit)
    assert against(line_of(listed, "needle-18-thin")) == [Against.NOT_IN_KIT]
    assert [missing.what for missing in listed.missing] == ["needle-18-thin"]
    assert "the kit does not list it" in listed.missing[0].text


def figure(volume_ml: float) -> OcclusionPlan:
    text = "An upper sanity figure, not a dose."
    between = SclerosantFigure(
        vessel="trunk", from_mm=10, to_mm=150, volume_ml=volume_ml, sd_ml=0.3, text=text
    )
    return replace(PLAN, sclerosant=between)


@pytest.mark.parametrize(("volume_ml", "vials"), [(3.9, 2), (4.0, 2), (4.1, 3), (0.2, 1)])
def test_whole_vials_hold_the_sanity_figure_which_is_never_the_dose(
    volume_ml: float, vials: int
) -> None:
    # Vials of 2 mL.
    line = line_of(pulled(plan=figure(volume_ml)), "scl-sts-3")
    assert line.needed == vials
    assert "Never the dose" in line.why


def test_fewer_vials_than_the_figure_are_said_and_only_none_is_missing() -> None:
    # 9 mL take five vials of 2 mL. The figure is no dose, so four are no shortage.
    four = pulled(with_counts(DEMO, scl_sts_3=4), figure(9.0))
    assert against(line_of(four, "scl-sts-3")) == [Against.FEWER_THAN_NEEDED]
    assert four.missing == ()
    none = pulled(with_counts(DEMO, scl_sts_3=0), figure(9.0))
    assert [missing.device for missing in none.missing] == ["scl-sts-3"]


def test_no_sclerosant_is_asked_for_without_a_figure() -> None:
    assert devices(pulled(plan=replace(PLAN, sclerosant=None)), Purpose.SCLEROSANT) == []


def test_of_two_sclerosants_the_one_that_is_there_is_laid_out() -> None:
    other = Sclerosant(
        id="scl-other",
        name="another sclerosant",
        read_at=READ_AT,
        shelf_count=2,
        substance="polidocanol",
        strength_percent=3,
        volume_ml=2,
    )
    kit = replace(with_counts(DEMO, scl_sts_3=0), sclerosants=(DEMO.sclerosants[0], other))
    assert devices(pulled(with_counts(kit, scl_sts_3=0)), Purpose.SCLEROSANT) == ["scl-other"]


def test_a_plan_without_levels_says_why_and_lays_out_the_way_and_the_rescue() -> None:
    listed = pulled(plan=NO_LEVELS)
    assert listed.no_coils_because[0] == "The plan has no levels."
    assert any("superior pubic ramus" in reason for reason in listed.no_coils_because)
    assert devices(listed, Purpose.COIL) == []
    assert devices(listed, Purpose.WAY) == [
        "needle-18-thin",
        "wire-35-180",
        "sheath-5-11",
        "cath-5-65",
    ]
    assert listed.rescue.sheath == "sheath-6-11"


def test_a_plan_made_without_a_kit_names_the_level_and_every_kind_that_lacks() -> None:
    listed = pulled(Kit(), plan_occlusion(TRUNK, Kit(), PROTOCOL, on=DAY))
    assert listed.lines == ()
    assert [missing.what for missing in listed.missing] == [
        "coil-distal",
        "coil-upper",
        "needle",
        "wire",
        "sheath",
        "catheter",
        "rescue-kit",
    ]
    assert listed.no_coils_because == (
        "distal level: the kit holds none that makes a loop there",
        "upper level: the kit holds none that makes a loop there",
    )


def test_a_level_where_no_coil_can_be_advised_says_the_nearest_and_why_not() -> None:
    # A 5 mm coil in a vein of 6.0 mm may travel.
    small = replace(DEMO, coils=DEMO.coils[:1])
    listed = pulled(small, plan_occlusion(TRUNK, small, PROTOCOL, on=DAY))
    text = next(m.text for m in listed.missing if m.what == "coil-distal")
    assert "Larkspur wire coil 5 mm" in text
    assert "may be narrower than the vein and travel" in text


def test_a_chain_that_lacks_its_sheath_is_named() -> None:
    kit = replace(DEMO, sheaths=())
    listed = pulled(kit, plan_occlusion(TRUNK, kit, PROTOCOL, on=DAY))
    assert "way-to-the-vein" in [missing.what for missing in listed.missing]
    text = next(m.text for m in listed.missing if m.what == "way-to-the-vein")
    assert "no sheath in the kit" in text
    cautions = [a for a in listed.advisories if a.rule == "way-not-shown-to-pass"]
    assert [a.urgency for a in cautions] == [Urgency.CAUTION]


def test_the_document_names_its_format_and_every_number_is_finite_or_null() -> None:
    text = pull_list_to_json(pulled(with_expiry(DEMO, "lw-8-140", None)))
    document = json.loads(text, parse_constant=pytest.fail)
    # REVIEW.md "Needed and missing" 3: first choice, back-up, rescue, with shelf count and expiry.
    assert list(document)[:2] == ["format", "version"]
    assert (document["format"], document["version"]) == ("coilwright.pull-list", 1)
    assert {line["role"] for line in document["lines"]} == {"first-choice", "back-up", "rescue"}
    first = document["lines"][0]
    assert (first["shelf_count"], first["expiry"]) == (5, None)
    assert first["against"][0]["against"] == "expiry-not-stated"
    assert document["disclaimer"]


def test_a_shelf_of_thousands_of_copies_gives_the_list_of_one_of_each() -> None:
    def copies(shelf: tuple[Device, ...]) -> tuple[Device, ...]:
        more = tuple(replace(d, id=f"{d.id}-{n}") for n in range(1, 165) for d in shelf)
        return (*shelf, *more)

    many = Kit(**{f.name: copies(getattr(DEMO, f.name)) for f in fields(DEMO)})  # type: ignore[arg-type]  # kinds
    assert len(list(many)) > 5000
    assert [line.device for line in pulled(many).of(PullRole.FIRST_CHOICE)] == [
        line.device for line in pulled().of(PullRole.FIRST_CHOICE)
    ]
    assert pulled(many).rescue == pulled().rescue


IDS = [device.id for device in DEMO]
COUNTS = st.lists(st.integers(0, 4), min_size=len(IDS), max_size=len(IDS))
# What the rescue kit and the microcatheter share with other lines has no line of its own there.
SHARED = {
    Purpose.SNARE_CATHETER,
    Purpose.CAPTURE_SHEATH,
    Purpose.EXCHANGE_WIRE,
    Purpose.MICROCATHETER,
    Purpose.MICRO_WIRE,
}
BETTER = {"not-there": 0, "cannot-be-told": 1, "there": 2}
Need = tuple[PullRole, Purpose, LevelName | None, str | None]


def there(listed: PullList) -> Counter[Need]:
    """Every need with a line that the shelf holds."""
    absent = {Against.NOT_IN_KIT, Against.NOT_ON_SHELF, Against.EXPIRES_BEFORE}
    return Counter(
        (line.role, line.purpose, line.level, line.kind)
        for line in listed.lines
        if line.purpose not in SHARED and not absent & set(against(line))
    )


@settings(max_examples=60, deadline=None)
@given(counts=COUNTS, more=st.sampled_from(IDS), plan=st.sampled_from([PLAN, NO_LEVELS]))
def test_another_device_on_the_shelf_never_makes_the_list_of_a_plan_worse(
    counts: list[int], more: str, plan: OcclusionPlan
) -> None:
    shelf = dict(zip(IDS, counts, strict=True))
    before = pulled(counted(shelf), plan)
    after = pulled(counted(shelf | {more: shelf[more] + 1}), plan)
    if plan is PLAN:
        assert there(before) <= there(after)
        micros = [Purpose.MICROCATHETER in {x.purpose for x in y.lines} for y in (before, after)]
        assert micros[0] <= micros[1]
    short_before = {missing.what: missing.short_by or 0 for missing in before.missing}
    short_after = {missing.what: missing.short_by or 0 for missing in after.missing}
    assert short_after.keys() <= short_before.keys()
    assert all(short <= short_before[what] for what, short in short_after.items())
    assert BETTER[before.rescue.verdict] <= BETTER[after.rescue.verdict]


def counted(shelf: dict[str, int]) -> Kit:
    return changed(DEMO, lambda d: replace(d, shelf_count=shelf[d.id]))
