"""Quantities as clinicians type them."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.units import Quantity, QuantityKind, QuantityProblem, parse_quantity, written_units

Kind = QuantityKind


@pytest.mark.parametrize(
    ("typed", "kind", "value", "unit"),
    [
        ("90 µmol/L", Kind.CREATININE, 90.0, "umol/L"),
        ("90 μmol/l", Kind.CREATININE, 90.0, "umol/L"),  # Greek mu
        ("90umol/l", Kind.CREATININE, 90.0, "umol/L"),
        ("1.02 mg/dL", Kind.CREATININE, 1.02, "mg/dL"),
        ({"value": 1.0, "unit": "MG/DL"}, Kind.CREATININE, 1.0, "mg/dL"),
        ({"value": 78, "unit": "kg"}, Kind.BODY_WEIGHT, 78.0, "kg"),
        ("250 x10⁹/L", Kind.BLOOD_CELLS, 250.0, "10^9/L"),
        ("250 10^9/L", Kind.BLOOD_CELLS, 250.0, "10^9/L"),
        ("250/nL", Kind.BLOOD_CELLS, 250.0, "10^9/L"),
        ("21.4 Gy·cm²", Kind.DOSE_AREA, 21.4, "Gy.cm2"),
        ("89.6 cGycm2", Kind.DOSE_AREA, 89.6, "cGy.cm2"),
        ("1 %", Kind.DRUG_STRENGTH, 1.0, "%"),
        ("300 mg I/mL", Kind.IODINE_CONCENTRATION, 300.0, "mgI/mL"),
        ("11 million/mL", Kind.SPERM_CONCENTRATION, 11.0, "10^6/mL"),
        ("5F", Kind.CALIBRE_FR, 5.0, "Fr"),
        ("-10 deg", Kind.ANGLE, -10.0, "deg"),
    ],
)
def test_quantity_takes_the_spellings_that_clinicians_use(
    typed: object, kind: QuantityKind, value: float, unit: str
) -> None:
    assert parse_quantity(typed, kind) == Quantity(value=value, unit=unit, kind=kind)


@pytest.mark.parametrize(
    "typed", ["90", 90, 90.5, "  90 ", {"value": 90}, {"value": 90, "unit": ""}]
)
def test_quantity_without_a_unit_is_refused_and_the_unit_asked_for(typed: object) -> None:
    sentence = re.escape("has no unit; add its unit (umol/L, mg/dL, mg/L or mmol/L)")
    with pytest.raises(QuantityProblem, match=sentence):
        parse_quantity(typed, Kind.CREATININE)


@pytest.mark.parametrize(
    ("typed", "kind", "sentence"),
    [
        ("8 kg", Kind.VOLUME, 'unit "kg" is not one for a volume; use mL, L or uL'),
        ("1,2 mg/dL", Kind.CREATININE, "has a comma; write a point for the decimals"),
        ("high", Kind.CREATININE, '"high" has no number; give a number and its unit'),
        ("\N{ARABIC-INDIC DIGIT FIVE} mm", Kind.LENGTH, "has no number; give a number"),
        pytest.param(1 << 20000, Kind.LENGTH, "the value is not finite", id="6000 digits"),
        (True, Kind.LENGTH, "not a quantity; give a number and its unit"),
        ({"value": "x", "unit": "mm"}, Kind.LENGTH, "the table has no number as value"),
        ({"value": float("nan"), "unit": "mm"}, Kind.LENGTH, "the value is not finite"),
        ("1e999 mm", Kind.LENGTH, "the value is not finite"),
        # Labelled mass of the compound, not of iodine: the unit must say which.
        ("300 mg/mL", Kind.IODINE_CONCENTRATION, "use mgI/mL, gI/L or gI/mL"),
    ],
)
def test_quantity_that_cannot_be_used_says_how_to_mend_it(
    typed: object, kind: QuantityKind, sentence: str
) -> None:
    with pytest.raises(QuantityProblem, match=re.escape(sentence)):
        parse_quantity(typed, kind)


@pytest.mark.parametrize(
    ("typed", "kind", "unit", "expected"),
    [
        ("1.2 mg/dL", Kind.CREATININE, "umol/L", 106.08),  # by hand: 1.2 x 88.4
        ("10 mg/L", Kind.CREATININE, "mg/dL", 1.0),  # by hand: 10 dL hold 1 L
        ("1 lb", Kind.BODY_WEIGHT, "kg", 0.45359237),  # international pound, 1959, by definition
        ("6 inch", Kind.LENGTH, "mm", 152.4),  # inch of 25.4 mm by definition
        ("1 cmH2O", Kind.PRESSURE, "mmHg", 0.7356),  # CLINICAL.md section 10
        ("1 kPa", Kind.PRESSURE, "mmHg", 7.5006),  # CLINICAL.md section 10: 1 mmHg = 133.3 Pa
        ("250000 /uL", Kind.BLOOD_CELLS, "10^9/L", 250.0),  # by hand: 1e6 uL in a litre
        ("106239 mGy.cm2", Kind.DOSE_AREA, "Gy.cm2", 106.239),  # CLINICAL.md section 13
        ("90 min", Kind.TIME, "h", 1.5),  # by hand
        ("0.9 mg/dL", Kind.CREATININE, "mg/dL", 0.9),
    ],
)
def test_quantity_converts_within_its_kind(
    typed: str, kind: QuantityKind, unit: str, expected: float
) -> None:
    assert parse_quantity(typed, kind).to(unit) == pytest.approx(expected, rel=1e-4)


def test_quantity_does_not_convert_to_another_kind() -> None:
    with pytest.raises(ValueError, match="mL is no unit of creatinine"):
        parse_quantity("90 umol/L", Kind.CREATININE).to("mL")


@given(st.data(), st.floats(min_value=1e-3, max_value=1e6))
def test_quantity_there_and_back_is_the_same(data: st.DataObject, value: float) -> None:
    kind = data.draw(st.sampled_from(QuantityKind))
    one, other = (data.draw(st.sampled_from(written_units(kind))) for _ in range(2))
    there = Quantity(value=value, unit=one, kind=kind).to(other)
    back = Quantity(value=there, unit=other, kind=kind).to(one)
    assert back == pytest.approx(value, rel=1e-12)


@given(st.data(), st.floats(min_value=0.001, max_value=99999.0))
def test_quantity_reads_back_what_it_prints(data: st.DataObject, value: float) -> None:
    kind = data.draw(st.sampled_from(QuantityKind))
    unit = data.draw(st.sampled_from(written_units(kind)))
    read = parse_quantity(str(Quantity(value=value, unit=unit, kind=kind)), kind)
    assert read.unit == unit
    assert read.value == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize("kind", list(QuantityKind))
def test_no_spelling_stands_for_two_units(kind: QuantityKind) -> None:
    for unit in written_units(kind):
        assert parse_quantity(f"1 {unit}", kind).unit == unit
