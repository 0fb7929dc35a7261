"""The widest recorded vein of each side."""

import datetime as dt
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.facts import Facts, Patient
from coilwright.assessment.findings import PlexusLevel, Ultrasound
from coilwright.assessment.ultrasound_veins import largest_veins, widest_vein
from coilwright.veins import Side

widths = st.none() | st.floats(min_value=0.1, max_value=30.0)


def facts(*exams: Ultrasound) -> Facts:
    return Facts(on=dt.date(2026, 3, 12), patient=Patient(id="1", name="x"), ultrasound=exams)


def one(exam: Ultrasound) -> Advisory:
    (advisory,) = largest_veins(facts(exam))
    return advisory


FOUR = Ultrasound(
    side=Side.LEFT,
    date=dt.date(2026, 1, 28),
    vein_supine_rest_mm=2.6,
    vein_supine_valsalva_mm=3.4,
    vein_upright_rest_mm=3.1,
    vein_upright_valsalva_mm=4.2,
    largest_vein_at=PlexusLevel.SUPRATESTICULAR,
)


def test_widest_of_four_is_named_with_its_condition() -> None:
    advisory = one(FOUR)
    assert advisory.text == "Left: widest recorded vein of the plexus 4.2 mm (upright on Valsalva)."
    assert (advisory.value, advisory.unit, advisory.missing) == (4.2, "mm", ())
    assert advisory.inputs["measured at"] == "supratesticular level"
    assert advisory.status is Status.RESTATED


def test_conditions_that_are_not_recorded_are_named() -> None:
    advisory = one(Ultrasound(side=Side.RIGHT, vein_supine_rest_mm=2.0))
    assert "Right: widest recorded vein of the plexus 2.0 mm (supine at rest)." in advisory.text
    assert advisory.missing == (
        "ultrasound.vein_supine_valsalva",
        "ultrasound.vein_upright_rest",
        "ultrasound.vein_upright_valsalva",
    )
    assert all(key in advisory.text for key in advisory.missing)


def test_no_diameter_gives_no_number() -> None:
    advisory = one(Ultrasound(side=Side.LEFT))
    assert advisory.value is None
    assert len(advisory.missing) == 4


def test_every_condition_of_an_equal_width_is_named() -> None:
    exam = Ultrasound(side=Side.LEFT, vein_supine_valsalva_mm=3.0, vein_upright_rest_mm=3.0)
    assert "(supine on Valsalva and upright at rest)" in one(exam).text


def test_a_vein_narrower_on_valsalva_than_at_rest_is_worth_checking() -> None:
    advisory = one(replace(FOUR, vein_upright_rest_mm=4.5))
    assert "Narrower on Valsalva than at rest, upright: worth checking." in advisory.text
    assert advisory.urgency is Urgency.CAUTION


def test_no_ultrasound_and_an_ultrasound_without_side_are_said() -> None:
    (none,) = largest_veins(facts())
    assert none.missing == ("ultrasound",)
    (sideless,) = largest_veins(facts(replace(FOUR, side=None)))
    assert sideless.missing == ("ultrasound.side",)
    assert sideless.urgency is Urgency.CAUTION


def test_the_latest_ultrasound_of_each_side_is_read() -> None:
    old = replace(FOUR, date=dt.date(2024, 1, 1), vein_upright_valsalva_mm=9.0)
    right = replace(FOUR, side=Side.RIGHT, vein_upright_valsalva_mm=5.0)
    left_advisory, right_advisory = largest_veins(facts(right, old, FOUR))
    assert (left_advisory.value, right_advisory.value) == (4.2, 5.0)


@given(widths, widths, widths, widths)
def test_the_widest_is_one_of_the_four_and_none_is_wider(
    a: float | None, b: float | None, c: float | None, d: float | None
) -> None:
    exam = Ultrasound(
        vein_supine_rest_mm=a,
        vein_supine_valsalva_mm=b,
        vein_upright_rest_mm=c,
        vein_upright_valsalva_mm=d,
    )
    recorded = [width for width in (a, b, c, d) if width is not None]
    widest = widest_vein(exam)
    if widest is None:
        assert recorded == []
    else:
        assert widest.width_mm in recorded
        assert all(width <= widest.width_mm for width in recorded)
