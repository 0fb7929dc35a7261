"""Testis volume and asymmetry."""

import datetime as dt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.advice import Advisory, Urgency
from coilwright.assessment import Facts, Patient, Referral, Testes, TestisSize
from coilwright.assessment.testis import (
    asymmetry_percent,
    ellipsoid_volume_ml,
    lambert_volume_ml,
    testis_size,
)
from coilwright.protocol import Protocol, load_protocol
from coilwright.veins import Side

PROTOCOL = load_protocol()
# The function's name begins as a test's does.
testis_size.__test__ = False  # type: ignore[attr-defined]
WHO = 'why = "w"\nchanged_by = "Dr Invented"\nchanged_on = 2026-02-03\n'


def facts(testes: tuple[Testes, ...], *sides: Side) -> Facts:
    return Facts(
        on=dt.date(2026, 3, 12),
        patient=Patient(id="1", name="x"),
        referral=Referral(sides=sides),
        testes=testes,
    )


def stated(left_ml: float, right_ml: float, day: dt.date | None = None) -> Testes:
    return Testes(
        date=day,
        left=TestisSize(stated_volume_ml=left_ml),
        right=TestisSize(stated_volume_ml=right_ml),
    )


def asymmetry(base: Facts, protocol: Protocol = PROTOCOL) -> Advisory:
    (advisory,) = [a for a in testis_size(base, protocol) if a.rule == "testis-asymmetry"]
    return advisory


@pytest.mark.parametrize(
    ("axes_cm", "lambert_ml", "ellipsoid_ml"),
    # CLINICAL.md 1.3, vectors (Lambert 0.71, ellipsoid pi/6).
    [((4.5, 3.0, 2.5), 23.96, 17.67), ((4.0, 2.5, 2.0), 14.20, 10.47)],
)
def test_volumes_are_the_vectors_to_the_printed_digit(
    axes_cm: tuple[float, float, float], lambert_ml: float, ellipsoid_ml: float
) -> None:
    length_mm, width_mm, height_mm = (10.0 * axis for axis in axes_cm)
    size = TestisSize(length_mm=length_mm, width_mm=width_mm, height_mm=height_mm)
    advisories = testis_size(facts((Testes(left=size),), Side.LEFT), PROTOCOL)
    values = {a.rule: a.value for a in advisories}
    assert round(values["testis-volume-lambert"] or 0.0, 2) == lambert_ml
    assert round(values["testis-volume-ellipsoid"] or 0.0, 2) == ellipsoid_ml


def test_lambert_gives_the_third_vector() -> None:
    # CLINICAL.md 1.3: 4.1 x 2.5 x 2.1 -> 15.28.
    assert round(lambert_volume_ml(length_mm=41.0, width_mm=25.0, height_mm=21.0), 2) == 15.28


def test_lambert_gives_the_right_answer_where_a_public_page_is_wrong() -> None:
    # CLINICAL.md, opening: 3.5 x 2.84 x 1.94 x 0.71 is 13.69, printed elsewhere as 9.68.
    assert round(lambert_volume_ml(length_mm=35.0, width_mm=28.4, height_mm=19.4), 2) == 13.69


def test_asymmetry_is_the_vector_and_states_its_denominator() -> None:
    # CLINICAL.md 1.3: right 18, left 14 mL -> 22.2 %, difference 4 mL.
    advisory = asymmetry(facts((stated(14.0, 18.0),), Side.LEFT))
    assert advisory.value is not None
    assert round(advisory.value, 1) == 22.2
    assert "22.2 % smaller (4.0 mL), in per cent of the testis of the other side" in advisory.text
    assert advisory.urgency is Urgency.CAUTION


def test_asymmetry_of_the_larger_testis_uses_that_denominator(tmp_path: Path) -> None:
    # By hand: affected left 18, other 14: (14 - 18)/18 = -22.2 %; by the other side -28.6 %.
    file = tmp_path / "site.toml"
    text = f'[choices.testis-asymmetry-denominator]\nvalue = "larger"\n{WHO}'
    file.write_text(text, encoding="utf-8")
    larger = asymmetry(facts((stated(18.0, 14.0),), Side.LEFT), load_protocol(file))
    other = asymmetry(facts((stated(18.0, 14.0),), Side.LEFT))
    assert larger.value == pytest.approx(-22.2, abs=0.05)
    assert other.value == pytest.approx(-28.6, abs=0.05)
    assert "in per cent of the larger testis" in larger.text


def test_latest_visit_is_the_one_that_counts() -> None:
    visits = (stated(18.0, 18.0, dt.date(2026, 1, 1)), stated(9.0, 18.0, dt.date(2025, 1, 1)))
    assert asymmetry(facts(visits, Side.LEFT)).value == 0.0


@pytest.mark.parametrize(
    ("base", "missing"),
    [
        (facts((), Side.LEFT), ("testes",)),
        (facts((Testes(left=TestisSize(stated_volume_ml=14.0)),), Side.LEFT), ("testes.right",)),
        (facts((stated(14.0, 18.0),)), ("one agreed side (referral, ultrasound)",)),
        (
            facts((Testes(right=TestisSize(length_mm=40.0)),), Side.LEFT),
            ("testes.left", "testes.right"),
        ),
    ],
)
def test_asymmetry_names_what_is_missing(base: Facts, missing: tuple[str, ...]) -> None:
    advisory = asymmetry(base)
    assert advisory.missing == missing
    assert advisory.value is None


def test_right_is_compared_with_left_and_left_with_right() -> None:
    # By hand: right 14 of left 18 is the same 22.2 % as left 14 of right 18.
    left = asymmetry(facts((stated(14.0, 18.0),), Side.LEFT))
    right = asymmetry(facts((stated(18.0, 14.0),), Side.RIGHT))
    assert left.value == right.value
    assert right.text == left.text.replace("left", "right")


def test_where_both_sides_are_affected_no_asymmetry_is_given() -> None:
    advisory = asymmetry(facts((stated(14.0, 18.0),), Side.LEFT, Side.RIGHT))
    assert "both sides are affected, and there is no healthy one" in advisory.text
    assert advisory.value is None
    assert advisory.missing == ()


lengths = st.floats(min_value=5.0, max_value=100.0)


@given(lengths, lengths, lengths, st.floats(min_value=0.1, max_value=10.0))
def test_volume_scales_with_the_cube_of_the_ruler(
    length: float, width: float, height: float, scale: float
) -> None:
    for volume in (lambert_volume_ml, ellipsoid_volume_ml):
        small = volume(length_mm=length, width_mm=width, height_mm=height)
        large = volume(length_mm=length * scale, width_mm=width * scale, height_mm=height * scale)
        assert large == pytest.approx(small * scale**3, rel=1e-9)


@given(st.floats(min_value=0.5, max_value=40.0), st.floats(min_value=0.5, max_value=40.0))
def test_asymmetry_is_positive_exactly_when_the_affected_testis_is_smaller(
    affected: float, other: float
) -> None:
    for of_larger in (False, True):
        percent = asymmetry_percent(affected_ml=affected, other_ml=other, of_larger=of_larger)
        assert (percent > 0) == (affected < other)
