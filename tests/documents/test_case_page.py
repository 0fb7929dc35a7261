"""The page: every figure worded once, nothing missing hidden."""

from dataclasses import replace
from pathlib import Path

import pytest

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment import Allergies, LocalAnaesthetic, OtherAnaestheticGiven
from coilwright.documents import CasePage, case_page
from coilwright.documents.page_advice import Sources
from coilwright.documents.page_head import allergy_words
from coilwright.protocol import load_protocol
from coilwright.record import Case
from coilwright.veins import Side
from documents.cases_by_hand import case_of, map_by_hand, plan_by_hand, pulled_by_hand


@pytest.fixture
def case(tmp_path: Path) -> Case:
    return case_of(tmp_path)


def page_of(case: Case) -> CasePage:
    vein_map = map_by_hand()
    plan = plan_by_hand(case, vein_map)
    return case_page(case, vein_map, plan, pulled_by_hand(plan), load_protocol())


def advisory(urgency: Urgency, number: int, source: str = "a source") -> Advisory:
    return Advisory(
        urgency=urgency, text=f"Said {number}.", rule="r", source=source, status=Status.PUBLISHED
    )


def test_the_head_names_the_patient_as_the_case_does(case: Case) -> None:
    head = page_of(case).head
    # Born 1994-09-03, on 2026-03-12: the birthday of 2026 is still to come, so 31.
    assert (head.patient_name, head.patient_id, head.age, head.side) == (
        "Tarn, Oskar",
        "WF-204817",
        "31 years",
        "left",
    )


def test_no_day_of_procedure_gives_no_age(case: Case) -> None:
    undated = replace(case, procedure=replace(case.procedure, date=None))
    assert page_of(undated).head.age == "no date of procedure to take it on"


def test_at_most_three_cautions_stand_in_the_head_and_stops_come_first(case: Case) -> None:
    vein_map = map_by_hand()
    said = (
        *(advisory(Urgency.CAUTION, n) for n in range(4)),
        advisory(Urgency.STOP_AND_THINK, 9),
        advisory(Urgency.INFO, 10),
    )
    plan = replace(plan_by_hand(case, vein_map), advisories=said)
    head = case_page(case, vein_map, plan, pulled_by_hand(plan), load_protocol()).head
    assert head.open_cautions == ("Said 9.", "Said 0.", "Said 1.")
    assert head.more_cautions == "and 2 more cautions below"


def test_sides_that_differ_are_named_and_none_is_chosen(case: Case) -> None:
    consent = replace(case.consent, sides=(Side.RIGHT,))
    page = page_of(replace(case, consent=consent))
    assert page.head.side.startswith("NOT AGREED: referral left, ultrasound left, consent right")
    assert page.title == "Closure of the gonadal vein by catheter (side not agreed)"


def test_allergies_that_nobody_asked_about_are_named() -> None:
    said = allergy_words(Allergies(contrast=True, metal=False, others=("latex",)))
    assert said == (
        "KNOWN: contrast, latex; none to metal; not recorded: local anaesthetic, sclerosant"
    )


def test_a_vessel_reads_with_its_length_as_a_lower_bound_and_its_narrowing(case: Case) -> None:
    trunk, side, double = page_of(case).veins
    assert trunk.length == "at least 200 mm"
    assert trunk.calibre == "2.9 ± 0.1 to 6.0 ± 0.1 mm"
    assert trunk.narrowings == "at 80 to 90 mm: 2.9 mm, probably 4.6 ± 0.4 mm"
    assert side.joins == "trunk at 60 mm"
    assert double.joins == "trunk at 110 mm and trunk at 140 mm"


def test_a_level_reads_with_place_calibre_and_chance(case: Case) -> None:
    distal = page_of(case).levels[0]
    # The floor's mark is at 190 mm and the local offset is 10 mm: the zone ends at 180 mm.
    assert distal.where.startswith("lower end 10 mm above the upper edge of the superior pubic")
    # sd by hand, all of 6.0 mm: fit 0.15, depth 6 % (the tube's angles are not on this map, so the
    # local limit, wider than its own 5 %, counts), catheter 2 %, breathing 6 %, layering 3 %:
    # sqrt(0.15^2 + 0.36^2 + 0.12^2 + 0.36^2 + 0.18^2) = 0.573.
    assert distal.relaxed == "6.0 ± 0.6 mm"
    assert distal.first is not None
    assert distal.first.name == "Larkspur wire coil 8 mm x 140 mm"
    assert distal.first.oversize == "33 % over"
    # (8 - 6) / 0.573 = 3.5 standard deviations: 0.02 %, said as a bound.
    assert distal.first.undersized == "under 0.1 % chance undersized"
    # 7 mm: 1 / 0.5731 = 1.745 standard deviations, between 4.09 % (1.74) and 4.01 % (1.75) in a
    # table of the normal distribution.
    seven = next(choice for choice in distal.next if choice.device == "lw-7-140")
    assert seven.undersized == "4.1 % chance undersized"


def test_doses_stand_beside_their_ceilings(case: Case) -> None:
    rows = {row.rule: row for row in page_of(case).doses}
    # 8 mL of 1 % is 80 mg; the US label's 4.5 mg/kg for 78 kg is 351, capped at 300 mg.
    plain = rows["lidocaine-plain-max"]
    assert (plain.given, plain.ceiling, plain.left) == ("80 mg", "300 mg", "220 mg")
    # 5 x 78 kg / (82/88.4 mg/dL) = 420 mL, capped at 300 mL (Cigarroa 1989).
    contrast = rows["contrast-cigarroa"]
    assert (contrast.given, contrast.ceiling, contrast.left) == ("42 mL", "300 mL", "258 mL")
    # 42 mL of 300 mgI/mL.
    assert "12.6 g iodine" in page_of(case).dose_notes[1].text


def test_a_limit_from_memory_never_reads_as_satisfied(case: Case) -> None:
    kap = next(row for row in page_of(case).doses if row.rule == "radiation-kap")
    assert kap.left == "not judged"
    assert kap.ceiling == "300 Gy.cm2 (level of notification), from memory, not signed off"


def test_nothing_given_reads_as_none_recorded_not_as_zero(case: Case) -> None:
    bare = replace(case, given=type(case.given)())
    page = page_of(bare)
    assert {row.given for row in page.doses} == {"none recorded"}
    assert [line.text for line in page.dose_notes] == ["none recorded"] * 3 + ["not recorded"]


def test_both_kinds_of_lidocaine_share_what_is_left(case: Case) -> None:
    (dose,) = case.given.lidocaine
    both = replace(case.given, lidocaine=(dose, replace(dose, adrenaline=True)))
    rows = [r for r in page_of(replace(case, given=both)).doses if r.rule.startswith("lidocaine")]
    # By hand: 80 of 300 mg and 80 of 500 mg use up 0.427; left 0.573 of 300 and of 500 mg.
    assert [row.left for row in rows] == ["172 mg", "287 mg"]


def test_another_anaesthetic_takes_its_share_of_what_is_left(case: Case) -> None:
    other = OtherAnaestheticGiven(
        drug=LocalAnaesthetic.BUPIVACAINE, strength_mg_per_ml=2.5, volume_ml=4, adrenaline=False
    )
    page = page_of(replace(case, given=replace(case.given, other_anaesthetics=(other,))))
    rows = {row.rule: row for row in page.doses}
    # Its ceiling is from memory and unsigned, so what is left of lidocaine is not judged.
    assert rows["lidocaine-plain-max"].left == "not judged"
    assert rows["bupivacaine-max"].given == "10 mg"
    assert "bupivacaine 0.25 % without adrenaline = 10 mg" in page.dose_notes[0].text


def test_sources_are_numbered_once_and_brackets_keep_theirs_whole() -> None:
    joined = "Paper A, 2019 (n = 226; 24 % above); common practice; before: 20 mm, from memory"
    first = advisory(Urgency.INFO, 1, joined)
    second = advisory(Urgency.INFO, 2, "Paper B; Paper A, 2019 (n = 226; 24 % above)")
    sources = Sources((first, second))
    assert [row.text for row in sources.rows()] == [
        "Paper A, 2019 (n = 226; 24 % above)",
        "common practice; before: 20 mm, from memory",
        "Paper B",
    ]
    assert sources.numbers_of(second) == (3, 1)


def test_every_advisory_of_the_plan_is_on_the_page_with_a_listed_source(case: Case) -> None:
    vein_map = map_by_hand()
    plan = plan_by_hand(case, vein_map)
    page = case_page(case, vein_map, plan, pulled_by_hand(plan), load_protocol())
    rows = (*page.stops, *page.cautions, *page.noted)
    assert sorted(row.rule for row in rows) == sorted(a.rule for a in plan.advisories)
    numbers = {row.number for row in page.sources}
    assert all(row.footnotes and set(row.footnotes) <= numbers for row in rows)


def test_an_implant_is_named_by_the_kit_and_its_lot(case: Case) -> None:
    first = page_of(case).implants[0]
    assert (first.level, first.name, first.lot, first.serial, first.udi) == (
        "Distal",
        "Larkspur wire coil 5 mm x 50 mm",
        "LW25H012",
        "0004412",
        "not recorded",
    )
