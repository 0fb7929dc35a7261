"""What a site changed or signed off, told with who, why and when."""

from datetime import date
from pathlib import Path

from coilwright.protocol import choices_followed, load_protocol, local_changes

CHANGE = """
[limits.cigarroa-maximum]
value = 250
unit = "mL"
why = "stricter here"
changed_by = "Dr X"
changed_on = 2026-01-31

[limits.radiation-kap-notification]
signed_off_by = "Dr Y"
signed_off_on = 2026-02-01

[choices.lidocaine-label]
value = "bnf"
why = "our formulary"
changed_by = "Dr X"
changed_on = 2026-01-31
"""


def test_nothing_is_the_sites_own_without_an_overlay() -> None:
    assert local_changes(load_protocol()) == ()


def test_a_change_tells_both_values_and_a_sign_off_tells_its_name(tmp_path: Path) -> None:
    overlay = tmp_path / "site.toml"
    overlay.write_text(CHANGE, encoding="utf-8")
    maximum, label, kap = local_changes(load_protocol(overlay))
    assert (maximum.value, maximum.value_before, maximum.why) == (
        "250 mL",
        "300 mL",
        "stricter here",
    )
    assert (label.value, label.value_before, label.changed_on) == (
        "bnf",
        "us-label",
        date(2026, 1, 31),
    )
    assert (kap.value, kap.value_before, kap.signed_off_by) == ("300 Gy.cm2", None, "Dr Y")


def test_the_answer_that_is_followed_stands_beside_its_question(tmp_path: Path) -> None:
    overlay = tmp_path / "site.toml"
    overlay.write_text(CHANGE, encoding="utf-8")
    protocol = load_protocol(overlay)
    assert choices_followed(protocol)[protocol.choice("lidocaine-label").title] == "bnf"
    assert len(choices_followed(protocol)) == len(protocol.choices)
