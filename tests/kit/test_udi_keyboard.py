"""Scans typed through a wrong keyboard layout: named, and refused.

The scans are published codes, put through the keys by hand: where a US keyboard has ``(``, ``)``,
``+``, ``/``, ``]``, y, a German one (DIN 2137 T1) has ``)``, ``=``, a grave dead key, ``-``, ``+``,
z; a French one (AZERTY) has its figures under shift, a for q and z for w.
"""

from datetime import date

import pytest

from coilwright.kit.udi_problem import ScanProblem
from coilwright.kit.udi_scan import read_udi

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("scan", "layout"),
    [
        (")01=09504000059118)17=141120)10=7654321D)21=10987654d321", "German"),
        ("+d201095040000591181714112010ABC", "German"),
        ("+C101095040000591181714112010ABC", "German"),
        ("`A99912345-$$52001510X33", "German"),
        ("À99912345-$$52001510X33", "German"),  # the dead key has joined the next letter
        ("`H123PARTNO1234567890120-$$420020216LOT123456789012345-SXZY4567890123 45678"
         "-16D20130202C", "German"),
        ("9à&0àç(à'àààà(ç&&_9&è0&'&&éà9&à0ABC", "French"),
        ("à&àç(à'àààà(ç&&_&è&'&&éà", "French"),
        ("$déà&àç(à'àààà(ç&&_&è&'&&éà", "French"),
        ("+Q&é\"BJC(D-Eè&G", "French"),
        ("+Qççç&é\"'(!44(éàà&(&àX\"\"", "French"),
    ],
)  # fmt: skip
def test_the_layout_is_named_and_nothing_read(scan: str, layout: str) -> None:
    with pytest.raises(ScanProblem, match=f"through a {layout} keyboard layout, it seems; set the"):
        read_udi(scan, today=TODAY)


def test_a_scan_without_its_group_separators_still_shows_its_layout() -> None:
    # Control characters are often lost on another layout: the lot then runs on too long.
    with pytest.raises(ScanProblem, match="through a French keyboard layout"):
        read_udi("à&àç(à'àààà(ç&&_&àABCDEFGHIJKLMNéé&ABCDEFGHIJ", today=TODAY)


def test_a_plain_mistake_is_not_laid_at_the_keyboards_door() -> None:
    with pytest.raises(ScanProblem, match="check digit"):
        read_udi("(01)09504000059119(10)YZ", today=TODAY)


def test_an_unknown_layout_is_refused_by_its_strange_character() -> None:
    with pytest.raises(ScanProblem, match="'ж' is in no device code; set the scanner and the"):
        read_udi("ж010950400005911", today=TODAY)
