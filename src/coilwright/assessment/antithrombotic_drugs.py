"""Which antithrombotic drugs a typed text names, by generic name.

People type several into one field, with doses. A part of the text that names no drug known here, or
that speaks of a drug as stopped or not taken, is not read: somebody has to ask.
"""

import re
from dataclasses import dataclass
from enum import StrEnum


class Antithrombotic(StrEnum):
    """A drug, or a class of drugs with one rule, as it is printed."""

    HEPARIN = "unfractionated heparin"
    LMWH = "low molecular weight heparin"
    FONDAPARINUX = "fondaparinux"
    ARGATROBAN = "argatroban"
    WARFARIN = "warfarin"
    APIXABAN = "apixaban"
    RIVAROXABAN = "rivaroxaban"
    DABIGATRAN = "dabigatran"
    EDOXABAN = "edoxaban"
    CLOPIDOGREL = "clopidogrel"
    TICAGRELOR = "ticagrelor"
    PRASUGREL = "prasugrel"
    ASPIRIN = "aspirin"


# Longer names first: "low molecular weight heparin" also holds "heparin".
_NAMES = (
    (r"low[ -]molecular[ -]weight heparins?|lmwh|enoxaparin|dalteparin|tinzaparin", "LMWH"),
    (r"unfractionated heparin|ufh|heparin", "HEPARIN"),
    (r"fondaparinux", "FONDAPARINUX"),
    (r"argatroban", "ARGATROBAN"),
    (r"warfarin", "WARFARIN"),
    (r"apixaban", "APIXABAN"),
    (r"rivaroxaban", "RIVAROXABAN"),
    (r"dabigatran", "DABIGATRAN"),
    (r"edoxaban", "EDOXABAN"),
    (r"clopidogrel", "CLOPIDOGREL"),
    (r"ticagrelor", "TICAGRELOR"),
    (r"prasugrel", "PRASUGREL"),
    (r"aspirin|acetylsalicylic acid", "ASPIRIN"),
)
_BETWEEN_DRUGS = re.compile(r",|;|\+|&|/|\n|\band\b|\bplus\b|\bwith\b")
_NOT_TAKEN = re.compile(
    r"\b(no|not|none|never|without|stopped|stop|held|paused|off|until|previous|previously|former|"
    r"formerly|past|discontinued|ended|allergic|allergy|refused|declined)\b"
)
_NONE = frozenset({"none", "no"})


@dataclass(frozen=True, slots=True, kw_only=True)
class DrugsNamed:
    """The drugs of a text, in its order, and whether a part of it could not be read."""

    drugs: tuple[Antithrombotic, ...] = ()
    unread: bool = False


def drugs_named(typed: str) -> DrugsNamed:
    """The drugs that a typed text names; "none" and "no" name none.

    Examples
    --------
    >>> [drug.value for drug in drugs_named("Aspirin 75 mg and clopidogrel").drugs]
    ['aspirin', 'clopidogrel']
    >>> drugs_named("something else").unread
    True
    """
    text = typed.casefold().strip().rstrip(".")
    if text in _NONE:
        return DrugsNamed()
    parts = [part.strip() for part in _BETWEEN_DRUGS.split(text)]
    found = [_drugs_in(part) for part in parts if part]
    drugs = tuple(dict.fromkeys(drug for of_part in found for drug in of_part))
    return DrugsNamed(drugs=drugs, unread=not found or not all(found))


def _drugs_in(part: str) -> list[Antithrombotic]:
    if _NOT_TAKEN.search(part):
        return []
    found: list[tuple[int, Antithrombotic]] = []
    for pattern, name in _NAMES:
        match = re.search(rf"\b(?:{pattern})\b", part)
        if match is not None:
            found.append((match.start(), Antithrombotic[name]))
            part = part[: match.start()] + " " * len(match[0]) + part[match.end() :]
    return [drug for _, drug in sorted(found)]
