"""Semen against its reference limits, and the motile counts."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest

from coilwright.advice import Advisory, Urgency
from coilwright.assessment import Facts, Patient, SemenSample
from coilwright.assessment.semen import azoospermic, semen_abnormal, semen_analysis
from coilwright.protocol import Protocol, load_protocol

PROTOCOL = load_protocol()
WHO = 'why = "w"\nchanged_by = "Dr Invented"\nchanged_on = 2026-02-03\n'
# The lower reference limits of WHO 2021 themselves (CLINICAL.md section 2); the volume is larger so
# that volume x concentration reaches the limit of the total number, 39 million.
AT_THE_LIMIT = SemenSample(
    date=dt.date(2026, 1, 8),
    volume_ml=2.4375,
    concentration_million_per_ml=16.0,
    total_motility_percent=42.0,
    progressive_motility_percent=30.0,
    vitality_percent=54.0,
    normal_forms_percent=4.0,
)


def of(sample: SemenSample, rule: str, protocol: Protocol = PROTOCOL) -> Advisory:
    facts = Facts(on=dt.date(2026, 3, 12), patient=Patient(id="1", name="x"), semen=(sample,))
    (advisory,) = [a for a in semen_analysis(facts, protocol) if a.rule == rule]
    return advisory


@pytest.mark.parametrize(
    ("volume_ml", "concentration", "motility", "count"),
    # CLINICAL.md section 2, worked on a published page: 158.4 (printed 158), 45, 15.
    [(3.0, 80.0, 66.0, 158.4), (3.0, 30.0, 50.0, 45.0), (5.0, 6.0, 50.0, 15.0)],
)
def test_total_motile_count_gives_the_vectors(
    volume_ml: float, concentration: float, motility: float, count: float
) -> None:
    sample = SemenSample(
        volume_ml=volume_ml,
        concentration_million_per_ml=concentration,
        total_motility_percent=motility,
    )
    advisory = of(sample, "total-motile-count")
    assert advisory.value == pytest.approx(count, abs=1e-9)
    assert advisory.unit == "10^6"


def test_total_and_progressive_counts_are_kept_apart() -> None:
    # By hand: 2.4375 x 16 = 39 million; 42 % is 16.38, 30 % is 11.7.
    assert of(AT_THE_LIMIT, "total-motile-count").value == pytest.approx(16.38)
    assert of(AT_THE_LIMIT, "progressive-motile-count").value == pytest.approx(11.7)


def test_count_names_what_it_lacks() -> None:
    advisory = of(replace(AT_THE_LIMIT, volume_ml=None), "progressive-motile-count")
    assert advisory.value is None
    assert advisory.missing == ("semen[0].volume",)
    assert advisory.text.startswith("Progressively motile count of the sample of 2026-01-08")


def test_sample_at_the_limits_is_below_none_of_them() -> None:
    advisory = of(AT_THE_LIMIT, "semen-reference-limits")
    assert "WHO 2021: none below its limit" in advisory.text
    assert "not a line between fertile and not" in advisory.text


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"volume_ml": 1.39}, "volume 1.39 mL (limit 1.4)"),
        ({"concentration_million_per_ml": 15.9}, "concentration 15.9 10^6/mL (limit 16)"),
        ({"total_motility_percent": 41.0}, "total motility 41 % (limit 42)"),
        ({"progressive_motility_percent": 29.0}, "progressive motility 29 % (limit 30)"),
        ({"vitality_percent": 53.0}, "vitality 53 % (limit 54)"),
        ({"normal_forms_percent": 3.0}, "normal forms 3 % (limit 4)"),
    ],
)
def test_value_below_its_limit_is_named_with_the_limit(change: dict[str, float], said: str) -> None:
    sample = replace(AT_THE_LIMIT, **change)  # type: ignore[arg-type]  # floats alone here
    assert said in of(sample, "semen-reference-limits").text


def test_edition_of_2010_has_its_own_limits(tmp_path: Path) -> None:
    file = tmp_path / "site.toml"
    text = f'[choices.semen-reference-edition]\nvalue = "who-2010"\n{WHO}'
    file.write_text(text, encoding="utf-8")
    advisory = of(AT_THE_LIMIT, "semen-reference-limits", load_protocol(file))
    # CLINICAL.md section 2, fifth edition: progressive 32, vitality 58 are the stricter ones.
    assert "progressive motility 30 % (limit 32), vitality 54 % (limit 58)" in advisory.text
    assert "WHO 2010" in advisory.text
    assert "concentration" not in advisory.text


def facts_with(*samples: SemenSample) -> Facts:
    return Facts(on=dt.date(2026, 3, 12), patient=Patient(id="1", name="x"), semen=samples)


@pytest.mark.parametrize(
    ("volume_ml", "concentration", "total", "below"),
    # Total sperm number = volume x concentration, by hand; limit 39 million in both editions
    # (CLINICAL.md section 2).
    [
        (2.4, 16.0, "38.4", True),
        (2.4375, 16.0, "39", False),
        (1.5, 26.0, "39", False),
        (1.4, 16.0, "22.4", True),
        (3.0, 80.0, "240", False),
    ],
)
def test_total_sperm_number_is_volume_times_concentration(
    volume_ml: float, concentration: float, total: str, below: bool
) -> None:
    sample = replace(AT_THE_LIMIT, volume_ml=volume_ml, concentration_million_per_ml=concentration)
    advisory = of(sample, "semen-reference-limits")
    assert advisory.inputs["total number"] == f"{total} 10^6"
    assert (f"total number {total} 10^6 (limit 39)" in advisory.text) is below


@pytest.mark.parametrize(
    ("change", "said"),
    # CLINICAL.md section 2, both columns: PR 30 (2021) and 32 (2010); concentration 16 and 15.
    [
        (
            {"progressive_motility_percent": 31.0, "vitality_percent": 58.0},
            "WHO 2010 judges otherwise: progressive motility 31 % (limit 32) is below.",
        ),
        (
            {
                "concentration_million_per_ml": 15.5,
                "volume_ml": 3.0,
                "progressive_motility_percent": 32.0,
                "vitality_percent": 58.0,
            },
            "WHO 2010 judges otherwise: concentration 15.5 10^6/mL (limit 15) is not below.",
        ),
    ],
)
def test_value_that_the_editions_judge_differently_shows_both(
    change: dict[str, float], said: str
) -> None:
    sample = replace(AT_THE_LIMIT, **change)  # type: ignore[arg-type]  # floats alone here
    advisory = of(sample, "semen-reference-limits")
    assert said in advisory.text
    assert "by the edition that the site follows, WHO 2021" in advisory.text
    assert advisory.inputs["edition"] == "WHO 2021"
    assert "5th edition, 2010, table A1.1" in advisory.source


def test_editions_that_agree_are_not_set_against_each_other() -> None:
    sample = replace(AT_THE_LIMIT, progressive_motility_percent=32.0, vitality_percent=58.0)
    assert "otherwise" not in of(sample, "semen-reference-limits").text


def test_azoospermia_is_stated_and_its_motility_is_not_missing() -> None:
    sample = SemenSample(volume_ml=3.0, concentration_million_per_ml=0.0)
    advisory = of(sample, "semen-azoospermia")
    assert "azoospermia" in advisory.text
    assert advisory.urgency is Urgency.CAUTION
    assert of(sample, "semen-reference-limits").missing == ()
    assert of(sample, "total-motile-count").value == 0.0
    assert azoospermic(facts_with(sample)) is True


def test_azoospermia_is_not_stated_of_few_sperm_or_of_none_recorded() -> None:
    few = facts_with(replace(AT_THE_LIMIT, concentration_million_per_ml=0.1))
    assert azoospermic(few) is False
    assert azoospermic(facts_with(SemenSample(volume_ml=3.0))) is None
    assert azoospermic(facts_with()) is None
    assert "semen-azoospermia" not in {a.rule for a in semen_analysis(few, PROTOCOL)}


@pytest.mark.parametrize(
    ("sample", "abnormal"),
    [
        (AT_THE_LIMIT, False),
        (replace(AT_THE_LIMIT, normal_forms_percent=3.9), True),
        # One value below is enough, whatever is missing; without one, the four must be there.
        (SemenSample(concentration_million_per_ml=15.9), True),
        (replace(AT_THE_LIMIT, normal_forms_percent=None), None),
        (replace(AT_THE_LIMIT, progressive_motility_percent=None), None),
        (replace(AT_THE_LIMIT, vitality_percent=None, total_motility_percent=None), False),
        (SemenSample(), None),
    ],
)
def test_semen_is_abnormal_normal_or_cannot_be_judged(
    sample: SemenSample, abnormal: bool | None
) -> None:
    assert semen_abnormal(facts_with(sample), PROTOCOL) is abnormal


def test_latest_dated_sample_is_the_one_judged() -> None:
    low = replace(AT_THE_LIMIT, concentration_million_per_ml=5.0, date=dt.date(2025, 1, 1))
    assert semen_abnormal(facts_with(AT_THE_LIMIT, low), PROTOCOL) is False
    later = replace(low, date=dt.date(2026, 2, 1))
    assert semen_abnormal(facts_with(later, AT_THE_LIMIT), PROTOCOL) is True


def test_several_samples_without_a_date_leave_open_which_is_judged() -> None:
    undated = replace(AT_THE_LIMIT, date=None)
    low = replace(undated, concentration_million_per_ml=5.0)
    assert semen_abnormal(facts_with(undated, low), PROTOCOL) is None
    assert semen_abnormal(facts_with(undated), PROTOCOL) is False


def test_semen_between_the_editions_follows_the_one_that_the_site_chose(tmp_path: Path) -> None:
    file = tmp_path / "site.toml"
    text = f'[choices.semen-reference-edition]\nvalue = "who-2010"\n{WHO}'
    file.write_text(text, encoding="utf-8")
    facts = facts_with(AT_THE_LIMIT)  # progressive 30 %: at the limit of 2021, below that of 2010
    assert semen_abnormal(facts, PROTOCOL) is False
    assert semen_abnormal(facts, load_protocol(file)) is True


def test_missing_values_and_a_missing_analysis_are_named() -> None:
    nothing = of(SemenSample(), "semen-reference-limits")
    assert len(nothing.missing) == 7
    facts = Facts(on=dt.date(2026, 3, 12), patient=Patient(id="1", name="x"))
    (advisory,) = semen_analysis(facts, PROTOCOL)
    assert advisory.missing == ("semen",)
