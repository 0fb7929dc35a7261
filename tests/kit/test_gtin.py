"""Check digits against published examples."""

import pytest

from coilwright.kit import gtin_check_digit, is_gtin_14


@pytest.mark.parametrize(
    ("digits", "check_digit"),
    [
        ("629104150021", 3),  # GS1's own worked example: 57, so 60 - 57
        ("730001100001", 7),  # CLINICAL.md 8.1, published example
        ("890400021003", 7),  # CLINICAL.md 8.1, published example: 63 + 7
    ],
)
def test_check_digit_equals_the_published_one(digits: str, check_digit: int) -> None:
    assert gtin_check_digit(digits) == check_digit


@pytest.mark.parametrize(
    "gtin",
    # From the worked UDI strings of the FDA and of HL7's US Core (CLINICAL.md 8.1).
    ["51022222233336", "09504000059118", "00844588003288"],
)
def test_published_identifiers_are_right_and_any_other_last_figure_is_wrong(gtin: str) -> None:
    assert is_gtin_14(gtin)
    others = [gtin[:-1] + str(last) for last in range(10) if str(last) != gtin[-1]]
    assert not any(is_gtin_14(other) for other in others)


@pytest.mark.parametrize(
    "text", ["", "5102222223333", "5102222223333X", "５１０２２２２２２３３３３６"]
)
def test_what_is_not_fourteen_figures_is_no_identifier(text: str) -> None:
    assert not is_gtin_14(text)


def test_letters_have_no_check_digit() -> None:
    with pytest.raises(ValueError, match="figures only"):
        gtin_check_digit("62910415002A")
