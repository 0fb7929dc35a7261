"""Which passwords are taken. Numbers and principles: NIST SP 800-63B (2017), 5.1.1.2."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.accounts import password_problem

NAMES = ("a.kestrel", "Dr Anna Kestrel")
# Neither words of the context nor keys in a row, typed here for the purpose.
EIGHT = "tvmo zuh"
SHORT = "password: too short; use at least 8 characters"
EASY = "password: one of the first that anybody would try; take some words that do not go together"


def test_eight_characters_are_enough_and_seven_are_not() -> None:
    assert len(EIGHT) == 8
    assert password_problem(EIGHT, names=NAMES) is None
    assert "too short; use at least 8" in str(password_problem(EIGHT[:7], names=NAMES))


def test_sixty_four_characters_and_more_are_taken() -> None:
    for length in (64, 65, 256):
        assert password_problem((EIGHT * 32)[:length], names=NAMES) is None
    assert "too long; use at most 256" in str(password_problem((EIGHT * 33)[:257]))


def test_a_character_beyond_ascii_counts_as_one() -> None:
    # "each Unicode code point SHALL be counted as a single character"
    assert password_problem("łódźważu") is None
    assert "too short" in str(password_problem("łódźważ"))


@pytest.mark.parametrize(
    "password",
    ["tvmozuhqke", "TVMOZUHQKE", "8305917264", "!#)%(&=/*+", "x xx  x xxx x", "łćżęóńśź"],
)
def test_no_kind_of_character_is_asked_for(password: str) -> None:
    assert password_problem(password, names=NAMES) is None


@pytest.mark.parametrize(
    "password",
    [
        "aaaaaaaa",  # these two: "repetitive or sequential characters"
        "abcdefgh",
        "ABCDEFGH",
        "87654321",
        "1234567890",
        "qwertyui",
        "poiuytrewq",
        "abcabcabcabc",
        "12121212",
        "coilwright",  # "context-specific words, such as the name of the service"
        "Coilwright2026!",
        "password",
        "Password123",
        "a.kestrel",  # "the username, and derivatives thereof"
        "Kestrel-1984",
        "annakestrel",
        "DrAnnaKestrel",
        "kestrel anna 7",
        "hospital.radiology",
        "\uff50\uff41\uff53\uff53\uff57\uff4f\uff52\uff44",  # "password" in fullwidth letters
    ],
)
def test_what_anybody_would_try_first_is_refused(password: str) -> None:
    assert str(password_problem(password, names=NAMES)) == EASY


def test_a_sentence_that_holds_such_words_is_taken() -> None:
    for password in ("the password of kestrels", "abcdefgh and a goat", "coilwright in rain"):
        assert password_problem(password, names=NAMES) is None


def test_half_a_character_is_refused() -> None:
    assert "half a character" in str(password_problem("tvmo zuh\ud800"))


@given(st.text(max_size=80), st.text(max_size=20))
def test_what_is_said_never_repeats_a_password(password: str, name: str) -> None:
    said = str(password_problem(password, names=[name]))
    assert said in ({SHORT} if len(password) < 8 else {EASY, "None"})
