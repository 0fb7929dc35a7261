"""What is told before consent, against the published series (CLINICAL.md 4.4, 11 and 12)."""

import datetime as dt
from pathlib import Path

import pytest

from coilwright.advice import Advisory, Status
from coilwright.assessment import Facts, Patient, Sex
from coilwright.assessment.consent_figures import consent_figures
from coilwright.assessment.published_figure import figure
from coilwright.protocol import Protocol, load_protocol

PROTOCOL = load_protocol()
MAN = Facts(on=dt.date(2026, 3, 12), patient=Patient(id="1", name="x", sex=Sex.MALE))
RULES = {
    "consent-success",
    "consent-recurrence",
    "consent-complications",
    "consent-migration-and-phlebitis",
    "consent-against-surgery",
    "consent-aftercare",
}


def of(rule: str, protocol: Protocol = PROTOCOL) -> Advisory:
    (advisory,) = [a for a in consent_figures(MAN, protocol) if a.rule == rule]
    return advisory


def test_every_text_names_the_sites_own_figure_and_its_source() -> None:
    advisories = consent_figures(MAN, PROTOCOL)
    assert {a.rule for a in advisories} == RULES
    for advisory in advisories:
        assert "The site's own figure: none recorded yet." in advisory.text
        assert advisory.source
        assert advisory.inputs


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        # Makris GC et al., Br J Radiol 2018: 4.2, 9.1, 11.03, 8.44 %; technical success > 90 %.
        ("consent-recurrence", "glue: about 4 of 100 men, followed for 16 months, 251 treated"),
        ("consent-recurrence", "coils: about 9 of 100 men, followed for 39 months, 898 treated"),
        ("consent-recurrence", "alone: about 11 of 100 men, followed for 25 months, 728 treated"),
        ("consent-recurrence", "about 8 of 100 men, followed for 12 months, 1628 treated"),
        ("consent-success", "more than 90 of 100 men"),
        # Radiology 1996: 362/386, 24/386, 10/263; Wilson bounds of CLINICAL.md section 11.
        ("consent-success", "about 94 of 100 men (362 of 386; 95 % interval 91 to 96 of 100)"),
        ("consent-recurrence", "about 4 of 100 men (10 of 263; 95 % interval 2 to 7 of 100)"),
        ("consent-complications", "Perforation of the vein: about 6 of 100 men (24 of 386;"),
        # Neck or groin: 83/85, 4.7 %, 3.5 %, recurrence 6 %.
        ("consent-success", "about 98 of 100 men (83 of 85; 95 % interval 92 to 99 of 100)"),
        ("consent-complications", "(extravasation): about 5 of 100 men"),
        ("consent-complications", "Pain that passed: about 4 of 100 men"),
        ("consent-recurrence", "about 6 of 100 men, followed for 34 months, 5 men in all"),
        # Grosso 2015: 1613/1646; adolescents: 15/16.
        ("consent-success", "98 of 100 procedures (1613 of 1646;"),
        ("consent-success", "94 of 100 procedures (15 of 16;"),
        # Congress abstract, n = 225: 94.7, 98.1, 1.78, 10.7 %.
        ("consent-success", "about 95 of 100 men, 225 patients"),
        ("consent-success", "Clinical success: about 98 of 100 men"),
        ("consent-complications", "Complications of any kind: about 18 of 1000 men"),
        ("consent-recurrence", "about 11 of 100 men, followed for 8 years on average"),
        # Leaflet 16/046: about 80 %; one operator: 7 to 16 % at 6 weeks; quoted 0.6 to 45 %.
        ("consent-success", "about 80 of 100 men"),
        ("consent-recurrence", "about 7 to 16 of 100 men, at 6 weeks"),
        ("consent-recurrence", "about 6 to 450 of 1000 men"),
        # From memory: phlebitis 1 to 5 %, migration below 1 %.
        ("consent-migration-and-phlebitis", "about 10 to 50 of 1000 men"),
        ("consent-migration-and-phlebitis", "less than 10 of 1000 men"),
    ],
)
def test_published_rate_reads_as_a_number_of_people(rule: str, words: str) -> None:
    assert words in of(rule).text


@pytest.mark.parametrize(
    ("rule", "reads"),
    [
        ("consent-recurrence", "11.03 %"),
        ("consent-recurrence", "3.8 %; 10 of 263 is 3.80 %, 95 % interval 2.08 to 6.86 % (Wilson)"),
        (
            "consent-success",
            "93.8 %; 362 of 386 is 93.78 %, 95 % interval 90.92 to 95.79 % (Wilson)",
        ),
        ("consent-success", "98 %; 83 of 85 is 97.65 %, 95 % interval 91.82 to 99.35 % (Wilson)"),
        ("consent-success", "> 90 %"),
        ("consent-complications", "1.78 %"),
        ("consent-migration-and-phlebitis", "< 1 %"),
    ],
)
def test_inputs_hold_the_per_cent_before_rounding(rule: str, reads: str) -> None:
    assert reads in of(rule).inputs.values()


@pytest.mark.parametrize(
    ("id", "printed_digits"),
    # The per cents as the papers print them, from the events they print beside (CLINICAL.md 4.4).
    [
        ("consent-technical-radiology-1996", 1),
        ("consent-technical-neck-or-groin", 0),
        ("consent-technical-sclerosant", 0),
        ("consent-technical-adolescents", 0),
        ("consent-perforation", 1),
        ("consent-recurrence-radiology-1996", 1),
    ],
)
def test_events_give_the_per_cent_that_is_printed(id: str, printed_digits: int) -> None:
    counted = figure(PROTOCOL, id).counted
    assert counted is not None
    events, of_all = counted
    assert round(100 * events / of_all, printed_digits) == PROTOCOL.limit(id).value


def test_three_kinds_of_success_are_told_apart() -> None:
    text = of("consent-success").text
    assert "Technical success (no reflux at the end)" in text
    assert "are different things" in text


def test_only_what_is_from_memory_asks_for_a_sign_off() -> None:
    unsigned = [a for a in consent_figures(MAN, PROTOCOL) if a.status is Status.FROM_MEMORY]
    assert [a.rule for a in unsigned] == ["consent-migration-and-phlebitis"]
    assert "a figure from memory, not signed off" in unsigned[0].text
    others = [a for a in consent_figures(MAN, PROTOCOL) if a not in unsigned]
    assert not any("from memory" in a.text for a in others)


@pytest.mark.parametrize(
    "words",
    # CLINICAL.md 4.4: OR 1.37 (1.03-1.82), 0.65 (0.47-0.91), 0.19 (0.10-0.35) of
    # sclero-embolisation; Fabiani 2022, of surgery: 3.06 (1.06-8.88), 0.26 (0.08-0.85).
    [
        "recurrence more frequent after sclero-embolisation than after surgery (odds ratio 1.37 "
        "(95 % interval 1.03 to 1.82)",
        "complications of any kind less frequent after sclero-embolisation than after surgery "
        "(odds ratio 0.65 (95 % interval 0.47 to 0.91)",
        "hydrocele less frequent after sclero-embolisation than after surgery (odds ratio 0.19 ",
        "hydrocele more frequent after surgery than after sclero-embolisation (odds ratio 3.06 ",
        "orchi-epididymitis less frequent after surgery than after sclero-embolisation (odds "
        "ratio 0.26 ",
    ],
)
def test_odds_ratio_says_after_which_treatment_it_is_more_frequent(words: str) -> None:
    assert words in of("consent-against-surgery").text


def test_interval_that_holds_one_shows_no_difference(tmp_path: Path) -> None:
    protocol = site(tmp_path, "consent-odds-recurrence-lower", 0.9, "1")
    text = of("consent-against-surgery", protocol).text
    assert "recurrence without a difference that the interval shows (odds ratio 1.37" in text


@pytest.mark.parametrize(
    "words",
    # CLINICAL.md section 12: discharge 6 h, no lifting 24-48 h, ultrasound 30 days, 3 and 6
    # months, semen at 3 and 6 months.
    ["6 h after", "24 to 48 h", "at 30 d", "at 3 and 6 months in another", "about 72 d"],
)
def test_aftercare_gives_the_published_times(words: str) -> None:
    assert words in of("consent-aftercare").text


def site(folder: Path, id: str, value: float, unit: str = "%") -> Protocol:
    file = folder / "site.toml"
    file.write_text(
        f'[limits.{id}]\nvalue = {value}\nunit = "{unit}"\nwhy = "w"\n'
        'changed_by = "Dr Invented"\nchanged_on = 2026-02-03\n',
        encoding="utf-8",
    )
    return load_protocol(file)


def test_number_that_a_site_put_in_loses_the_published_counts(tmp_path: Path) -> None:
    protocol = site(tmp_path, "consent-perforation", 3.0)
    text = of("consent-complications", protocol).text
    assert "Perforation of the vein: about 3 of 100 men, a number that the site put here" in text
    assert "24 of 386" not in text


def test_woman_is_told_once_that_the_figures_are_of_men() -> None:
    woman = Facts(on=MAN.on, patient=Patient(id="1", name="x", sex=Sex.FEMALE))
    (advisory,) = consent_figures(woman, PROTOCOL)
    assert "in men and do not apply" in advisory.text
    assert " of 100" not in advisory.text
