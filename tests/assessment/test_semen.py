"""Semen against its reference limits, and the motile counts."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest

from coilwright.advice import Advisory
from coilwright.assessment import Facts, Patient, SemenSample
from coilwright.assessment.semen import semen_analysis
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


def test_missing_values_and_a_missing_analysis_are_named() -> None:
    nothing = of(SemenSample(), "semen-reference-limits")
    assert len(nothing.missing) == 7
    facts = Facts(on=dt.date(2026, 3, 12), patient=Patient(id="1", name="x"))
    (advisory,) = semen_analysis(facts, PROTOCOL)
    assert advisory.missing == ("semen",)
