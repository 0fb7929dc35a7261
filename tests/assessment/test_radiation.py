"""Radiation: levels of notification, effective dose, skin dose, the testes."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given as given_values
from hypothesis import strategies as st

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment import Facts, Given, Patient, RadiationGiven, Sex, SkinGeometry
from coilwright.assessment.effective_dose import effective_dose
from coilwright.assessment.radiation import (
    next_notification,
    radiation_levels,
    radiation_totals,
)
from coilwright.assessment.skin_dose import peak_skin_dose, peak_skin_dose_mgy
from coilwright.assessment.testis_dose import collimation_reminder
from coilwright.protocol import load_protocol

PROTOCOL = load_protocol()


def facts(*, radiation: RadiationGiven | None = None) -> Facts:
    return Facts(
        on=dt.date(2026, 3, 12),
        patient=Patient(id="1", name="x"),
        given=Given(radiation=radiation),
    )


def by_rule(advisories: tuple[Advisory, ...], rule: str) -> Advisory:
    (advisory,) = [a for a in advisories if a.rule == rule]
    return advisory


@pytest.mark.parametrize(
    ("air_kerma_gy", "urgency", "limit"),
    # CLINICAL.md 6.1, AAPM MPPG 12.a 2022 [V2]: first notification 3 Gy, follow-up 5 Gy.
    [
        (2.99, Urgency.INFO, 3.0),
        (3.0, Urgency.CAUTION, 5.0),
        (5.0, Urgency.STOP_AND_THINK, 5.0),
    ],
)
def test_air_kerma_speaks_at_its_levels(
    air_kerma_gy: float, urgency: Urgency, limit: float
) -> None:
    given = RadiationGiven(reference_air_kerma_gy=air_kerma_gy)
    advisory = by_rule(radiation_levels(facts(radiation=given), PROTOCOL), "radiation-air-kerma")
    assert (advisory.urgency, advisory.limit) == (urgency, limit)
    assert advisory.status is Status.RESTATED


def test_kap_level_from_memory_never_looks_satisfied_until_signed(tmp_path: Path) -> None:
    # CLINICAL.md 6.1: KAP 300 and 500 Gy.cm2 are [M]; REVIEW.md 12.
    given = facts(radiation=RadiationGiven(kap_gy_cm2=21.4))
    unsigned = by_rule(radiation_levels(given, PROTOCOL), "radiation-kap")
    assert unsigned.urgency is Urgency.CAUTION
    assert "not signed off by the site" in unsigned.text
    file = tmp_path / "site.toml"
    sign = 'signed_off_by = "Dr Invented"\nsigned_off_on = 2026-02-03\n'
    file.write_text(
        f"[limits.radiation-kap-notification]\n{sign}[limits.radiation-kap-follow-up]\n{sign}",
        encoding="utf-8",
    )
    signed = by_rule(radiation_levels(given, load_protocol(file)), "radiation-kap")
    assert signed.urgency is Urgency.INFO
    assert signed.signed_off_by == "Dr Invented"


def test_dose_figure_that_was_not_recorded_is_named_beside_those_that_were() -> None:
    advisories = radiation_levels(facts(radiation=RadiationGiven(kap_gy_cm2=21.4)), PROTOCOL)
    assert by_rule(advisories, "radiation-air-kerma").missing == (
        "given.radiation.reference_air_kerma",
    )
    assert by_rule(advisories, "radiation-fluoroscopy-time").missing == (
        "given.radiation.fluoroscopy_time",
    )


def test_before_any_radiation_nothing_is_said_of_it() -> None:
    assert radiation_levels(facts(), PROTOCOL) == ()


@pytest.mark.parametrize(
    ("kap_gy_cm2", "air_kerma_gy", "minutes", "words"),
    # CLINICAL.md 6.1: 300, then every 100 Gy.cm2; 3, then every 1 Gy; 30, then every 15 min.
    [
        (300.0, 3.0, 30.0, ("400 Gy.cm2", "4 Gy", "45 min")),
        (399.9, 3.99, 44.9, ("400 Gy.cm2", "4 Gy", "45 min")),
        (400.0, 4.0, 45.0, ("500 Gy.cm2", "5 Gy", "60 min")),
        (730.0, 6.5, 61.0, ("800 Gy.cm2", "7 Gy", "75 min")),
    ],
)
def test_next_notification_is_said(
    kap_gy_cm2: float, air_kerma_gy: float, minutes: float, words: tuple[str, str, str]
) -> None:
    given = RadiationGiven(
        kap_gy_cm2=kap_gy_cm2, reference_air_kerma_gy=air_kerma_gy, fluoroscopy_min=minutes
    )
    texts = [a.text for a in radiation_levels(facts(radiation=given), PROTOCOL)]
    for text, level in zip(texts, words, strict=True):
        assert f"next notification at {level}" in text


@given_values(st.floats(min_value=0.0, max_value=1000.0), st.floats(min_value=0.1, max_value=100.0))
def test_next_notification_lies_above_by_at_most_one_increment(
    value: float, increment: float
) -> None:
    level = next_notification(value, first=3.0, increment=increment)
    assert level > value or level == pytest.approx(value, rel=1e-9)
    assert level == 3.0 or level - value <= increment * (1.0 + 1e-9)


def test_kap_says_that_one_guideline_gives_no_level_and_what_others_have_seen() -> None:
    # CLINICAL.md 6.1, AAPM MPPG 12.a 2022 [V2]; 6.2, n = 39, 2020, and 251 boys, 2023 [V].
    given = RadiationGiven(kap_gy_cm2=21.4)
    advisory = by_rule(radiation_levels(facts(radiation=given), PROTOCOL), "radiation-kap")
    assert "gives no level of this product" in advisory.text
    context = " ".join(advisory.inputs.values())
    assert "106.2 Gy.cm2" in context
    assert "0.896 Gy.cm2" in context


def test_effective_dose_is_a_range_and_never_one_number() -> None:
    # CLINICAL.md 6.3 [C]: 106.24 Gy.cm2 -> 21.2 mSv (0.20), 27.6 mSv (0.26); by hand 30.8 (0.29).
    (advisory,) = effective_dose(facts(radiation=RadiationGiven(kap_gy_cm2=106.24)), PROTOCOL)
    assert advisory.value is None
    assert advisory.inputs["at 0.20 mSv per Gy.cm2 (lowest)"] == "21.2 mSv"
    assert advisory.inputs["at 0.26 mSv per Gy.cm2 (abdomen)"] == "27.6 mSv"
    assert advisory.inputs["at 0.29 mSv per Gy.cm2 (pelvis)"] == "30.8 mSv"
    assert advisory.low == pytest.approx(21.248, rel=1e-12)
    assert advisory.high == pytest.approx(30.8096, rel=1e-12)
    assert "populations" in advisory.text
    assert "copper" in advisory.text
    assert advisory.status is Status.FROM_MEMORY


def test_lowest_coefficient_is_the_one_implied_by_the_adolescent_series() -> None:
    # CLINICAL.md 6.2, Bebi 2023: 0.19 mSv over 0.896 Gy.cm2 = 0.212; rounded down to 0.20.
    lowest = PROTOCOL.limit("effective-dose-lowest-coefficient").value
    assert lowest <= 0.19 / 0.896 < lowest + 0.02


def test_without_a_product_there_is_no_effective_dose_and_the_reader_is_told() -> None:
    given = facts(radiation=RadiationGiven(reference_air_kerma_gy=0.1))
    assert effective_dose(given, PROTOCOL) == ()
    kap = by_rule(radiation_levels(given, PROTOCOL), "radiation-kap")
    assert "nor effective dose estimated: not recorded: given.radiation.kap" in kap.text


# CLINICAL.md 6.4 [C]: air kerma mGy, cm, cm, backscatter, table, tissue -> mGy.
SKIN_VECTORS = [
    (2000.0, 600.0, 700.0, 1.3, 0.80, 1.06, 1619.9),
    (1000.0, 600.0, 600.0, 1.3, 0.75, 1.06, 1033.5),
    (5000.0, 600.0, 650.0, 1.3, 0.75, 1.06, 4403.1),
]


@pytest.mark.parametrize(
    ("air_kerma", "reference", "skin", "backscatter", "table", "tissue", "dose"), SKIN_VECTORS
)
def test_skin_dose_gives_the_vectors_alone_and_through_the_rule(
    air_kerma: float,
    reference: float,
    skin: float,
    backscatter: float,
    table: float,
    tissue: float,
    dose: float,
) -> None:
    alone = peak_skin_dose_mgy(
        air_kerma_mgy=air_kerma,
        reference_mm=reference,
        skin_mm=skin,
        backscatter=backscatter,
        table_transmission=table,
        tissue_factor=tissue,
    )
    assert round(alone, 1) == dose
    geometry = SkinGeometry(
        source_to_reference_point_mm=reference,
        source_to_skin_mm=skin,
        backscatter=backscatter,
        table_transmission=table,
        tissue_factor=tissue,
    )
    (advisory,) = peak_skin_dose(with_skin(air_kerma / 1000.0, geometry), PROTOCOL)
    assert advisory.value is not None
    assert round(advisory.value, 1) == dose
    assert advisory.unit == "mGy"
    assert "Not stated in the case" not in advisory.text


def with_skin(air_kerma_gy: float | None, geometry: SkinGeometry) -> Facts:
    given = RadiationGiven(reference_air_kerma_gy=air_kerma_gy, skin=geometry)
    return facts(radiation=given)


DISTANCES = SkinGeometry(source_to_reference_point_mm=600.0, source_to_skin_mm=600.0)


def test_factors_that_the_case_does_not_state_are_the_protocols_and_said_to_be() -> None:
    # CLINICAL.md 6.4: 1.3 and 0.75 [V], 1.06 [M]; vector 1000 mGy, 60 -> 60 cm: 1033.5 mGy.
    (advisory,) = peak_skin_dose(with_skin(1.0, DISTANCES), PROTOCOL)
    assert advisory.value == pytest.approx(1033.5, abs=0.05)
    assert "of the protocol: backscatter, table transmission, tissue factor" in advisory.text
    assert advisory.inputs["backscatter"] == "1.3 (protocol, published)"
    assert advisory.inputs["tissue factor"] == "1.06 (protocol, from memory)"


def test_display_tolerance_spans_the_estimate_unless_a_calibration_is_stated() -> None:
    # CLINICAL.md 6.4 [M]: 35 % either way; by hand 1033.5 x 0.65 = 671.8, x 1.35 = 1395.2.
    (advisory,) = peak_skin_dose(with_skin(1.0, DISTANCES), PROTOCOL)
    assert advisory.low == pytest.approx(671.8, abs=0.05)
    assert advisory.high == pytest.approx(1395.2, abs=0.05)
    # By hand: 1033.5 x 0.9 = 930.15.
    calibrated = replace(DISTANCES, calibration_factor=0.9)
    (advisory,) = peak_skin_dose(with_skin(1.0, calibrated), PROTOCOL)
    assert advisory.value == pytest.approx(930.15, abs=0.05)
    assert (advisory.low, advisory.high) == (None, None)


@pytest.mark.parametrize(
    ("air_kerma_gy", "words", "urgency", "limit_mgy"),
    # CLINICAL.md 6.1: 2 Gy first [M], 3 Gy followed up [V2]; factor 1.0335, upper end x 1.35.
    [
        (1.4, "below the first notification of 2000 mGy", Urgency.CAUTION, 2000.0),
        (1.5, "may reach the first notification", Urgency.CAUTION, 2000.0),
        (2.0, "at or above the first notification", Urgency.CAUTION, 3000.0),
        (2.2, "may reach the 3000 mGy", Urgency.CAUTION, 3000.0),
        (2.9, "may reach the 3000 mGy", Urgency.CAUTION, 3000.0),
        (2.91, "at or above 3000 mGy", Urgency.STOP_AND_THINK, 3000.0),
    ],
)
def test_skin_dose_is_held_against_its_levels(
    air_kerma_gy: float, words: str, urgency: Urgency, limit_mgy: float
) -> None:
    (advisory,) = peak_skin_dose(with_skin(air_kerma_gy, DISTANCES), PROTOCOL)
    assert words in advisory.text
    assert (advisory.urgency, advisory.limit) == (urgency, limit_mgy)
    assert "An upper estimate for one field" in advisory.text


def test_skin_dose_without_a_distance_is_not_estimated() -> None:
    (advisory,) = peak_skin_dose(with_skin(0.1, SkinGeometry()), PROTOCOL)
    assert advisory.value is None
    assert advisory.missing == (
        "given.radiation.skin.source_to_reference_point",
        "given.radiation.skin.source_to_skin",
    )
    assert advisory.urgency is Urgency.INFO
    # CLINICAL.md 6.1: from 3 Gy at the reference point the guideline looks at the skin.
    (high,) = peak_skin_dose(with_skin(3.0, SkinGeometry()), PROTOCOL)
    (unknown,) = peak_skin_dose(with_skin(None, DISTANCES), PROTOCOL)
    assert high.urgency is unknown.urgency is Urgency.CAUTION
    assert unknown.missing == ("given.radiation.reference_air_kerma",)


def test_distance_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="must be above 0 mm"):
        peak_skin_dose_mgy(
            air_kerma_mgy=1.0,
            reference_mm=600.0,
            skin_mm=0.0,
            backscatter=1.3,
            table_transmission=0.75,
            tissue_factor=1.06,
        )


@given_values(
    st.floats(min_value=300.0, max_value=900.0), st.floats(min_value=1.0, max_value=300.0)
)
def test_skin_farther_from_the_source_never_gets_more(skin_mm: float, more_mm: float) -> None:
    # Inverse square law.
    near, far = (
        peak_skin_dose(with_skin(1.0, replace(DISTANCES, source_to_skin_mm=distance_mm)), PROTOCOL)[
            0
        ].value
        for distance_mm in (skin_mm, skin_mm + more_mm)
    )
    assert near is not None
    assert far is not None
    assert far < near
    assert far / near == pytest.approx((skin_mm / (skin_mm + more_mm)) ** 2, rel=1e-9)


def test_collimation_is_called_to_mind_before_the_first_exposure() -> None:
    # REVIEW.md, Truth and safety, 10; CLINICAL.md 6.2: 0.1 Gy, page after ICRP 118 [V].
    (advisory,) = collimation_reminder(facts(), PROTOCOL)
    assert advisory.urgency is Urgency.INFO
    assert "No shield in the field" in advisory.text
    assert "Temporary sterility is seen from 0.1 Gy" in advisory.text
    assert (advisory.value, advisory.missing) == (None, ())


@pytest.mark.parametrize(
    ("over", "frames", "urgency", "words"),
    [
        (0, 64, Urgency.INFO, "in 0 of 64 frames"),
        (4, 64, Urgency.CAUTION, "in 4 of 64 frames"),
        (4, None, Urgency.CAUTION, "reached the testes in 4 frames"),
        (65, 64, Urgency.CAUTION, "more than the 64 recorded: check"),
        (None, 64, Urgency.INFO, "not recorded: given.radiation.frames_over_testes"),
    ],
)
def test_frames_over_the_testes_are_counted(
    over: int | None, frames: int | None, urgency: Urgency, words: str
) -> None:
    given = RadiationGiven(frames=frames, frames_over_testes=over)
    (advisory,) = collimation_reminder(facts(radiation=given), PROTOCOL)
    assert advisory.urgency is urgency
    assert words in advisory.text
    assert advisory.missing == (() if over is not None else ("given.radiation.frames_over_testes",))


def test_a_woman_has_no_reminder_of_testes() -> None:
    base = facts()
    woman = replace(base, patient=replace(base.patient, sex=Sex.FEMALE))
    assert collimation_reminder(woman, PROTOCOL) == ()


def test_every_radiation_advisory_has_a_source_and_a_status() -> None:
    given = RadiationGiven(
        kap_gy_cm2=310.0,
        reference_air_kerma_gy=3.2,
        fluoroscopy_min=31.0,
        frames=64,
        frames_over_testes=1,
        skin=DISTANCES,
    )
    advisories = radiation_totals(facts(radiation=given), PROTOCOL)
    assert [a.rule for a in advisories] == [
        "radiation-kap",
        "radiation-air-kerma",
        "radiation-fluoroscopy-time",
        "effective-dose",
        "peak-skin-dose-estimate",
        "testis-collimation",
    ]
    assert all(a.source.strip() and isinstance(a.status, Status) for a in advisories)


def test_product_of_a_thousand_is_written_out() -> None:
    base = facts(radiation=RadiationGiven(kap_gy_cm2=1000.0))
    advisory = by_rule(radiation_levels(base, PROTOCOL), "radiation-kap")
    assert advisory.text.startswith("Kerma-area product 1000 Gy.cm2, ")
