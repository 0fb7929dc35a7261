"""Which passwords are taken: by length, and not the first ones that somebody would try.

There are no rules of composition and no dates on which a password runs out (NIST SP 800-63B, 2017,
5.1.1.2, which asks for neither).
"""

import re
from collections.abc import Iterable

from coilwright.accounts.user import name_key
from coilwright.errors import Problem

# NIST SP 800-63B (2017), 5.1.1.2: at least 8, and 64 or more allowed. Its edition of 2025
# (SP 800-63B-4, 3.1.1.2) asks for 15 where the password is the only factor: docs/decisions/0007.
FEWEST_CHARACTERS = 8
# A bound of our own, so that nobody has us hash megabytes; nothing is ever cut off.
MOST_CHARACTERS = 256

# Ours, without a source: the kind of word that the publication means by "context-specific", and
# keys that lie in a row. It is no list of leaked passwords.
PLAIN_WORDS = (
    "coilwright",
    "password",
    "passwort",
    "passphrase",
    "welcome",
    "changeme",
    "letmein",
    "secret",
    "hospital",
    "radiology",
    "operator",
    "scribe",
    "reader",
    "administrator",
    "admin",
)
ROWS = ("abcdefghijklmnopqrstuvwxyz", "01234567890", "qwertyuiop", "qwertzuiop", "asdfghjkl")
SHORTEST_WORD = 3
LONGEST_REPEATED = 4


def password_problem(password: str, *, names: Iterable[str] = ()) -> Problem | None:
    """What is wrong with a new password; None where it can be taken.

    ``names`` are what the user is called: a password made of them is refused. The password itself
    is never in what comes back.

    Examples
    --------
    >>> password_problem("a kettle on the third shelf", names=["a.scribe"]) is None
    True
    """
    if len(password) < FEWEST_CHARACTERS:
        return _problem("too short", f"use at least {FEWEST_CHARACTERS} characters")
    if len(password) > MOST_CHARACTERS:
        return _problem("too long", f"use at most {MOST_CHARACTERS} characters")
    if any("\ud800" <= character <= "\udfff" for character in password):
        return _problem("it holds half a character", "type it again")
    if _easily_tried(password, names):
        found = "one of the first that anybody would try"
        return _problem(found, "take some words that do not go together")
    return None


def _problem(found: str, mend: str) -> Problem:
    return Problem(field="password", found=found, mend=mend)


def _easily_tried(password: str, names: Iterable[str]) -> bool:
    plain = name_key(password)
    return _repeats(plain) or _runs(plain) or _only_words(plain, names)


def _repeats(plain: str) -> bool:
    """One short piece again and again."""
    pieces = range(1, LONGEST_REPEATED + 1)
    return any((plain[:n] * len(plain))[: len(plain)] == plain for n in pieces)


def _runs(plain: str) -> bool:
    """Letters, digits or keys in a row, either way, wrapped at the end."""
    return any(plain in way * len(plain) for row in ROWS for way in (row, row[::-1]))


def _only_words(plain: str, names: Iterable[str]) -> bool:
    """Nothing but words of the context, with digits, signs and an initial or two around them."""
    words = {*PLAIN_WORDS, *(part for name in names for part in _parts(name))}
    rest = plain
    for word in sorted(words, key=len, reverse=True):
        rest = rest.replace(word, " ")
    letters_left = re.findall(r"[^\W\d_]", rest)
    return rest != plain and len(letters_left) < SHORTEST_WORD


def _parts(name: str) -> list[str]:
    """A name's own words, or all of it where they are so short as to be found in any sentence."""
    words = re.findall(r"[^\W_]+", name_key(name))
    long_enough = [word for word in words if len(word) >= SHORTEST_WORD]
    whole = "".join(words)
    return long_enough or [whole] * (len(whole) >= SHORTEST_WORD)
