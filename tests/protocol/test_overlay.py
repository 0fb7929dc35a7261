"""A site's own limits, laid over the shipped ones."""

import datetime as dt
import re
from pathlib import Path

import pytest

from coilwright.advice import Status
from coilwright.errors import FileProblem
from coilwright.protocol import load_protocol
from coilwright.protocol.loading import read_data_folder

WHO = 'why = "audit of last year"\nchanged_by = "Dr Invented"\nchanged_on = 2026-02-03\n'


def overlay(folder: Path, text: str) -> Path:
    file = folder / "site.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_changed_value_keeps_what_it_was_and_who_changed_it(tmp_path: Path) -> None:
    text = f'version = "7"\n[limits.cigarroa-maximum]\nvalue = 250\nunit = "mL"\n{WHO}'
    protocol = load_protocol(overlay(tmp_path, text))
    limit = protocol.limit("cigarroa-maximum")
    assert limit.value == 250.0
    assert limit.overridden is not None
    assert limit.overridden.value_before == 300.0
    assert limit.overridden.why == "audit of last year"
    assert limit.overridden.changed_by == "Dr Invented"
    assert limit.overridden.changed_on == dt.date(2026, 2, 3)
    assert protocol.version.endswith("site 7")


def test_site_value_no_longer_stands_on_the_published_source(tmp_path: Path) -> None:
    text = f'[limits.cigarroa-maximum]\nvalue = 250\nunit = "mL"\n{WHO}'
    limit = load_protocol(overlay(tmp_path, text)).limit("cigarroa-maximum")
    assert limit.status is Status.COMMON_PRACTICE
    assert limit.source.startswith("local limit: audit of last year (Dr Invented, 2026-02-03)")
    assert "before: 300 mL" in limit.source


def test_changed_value_of_a_limit_from_memory_stays_unsigned(tmp_path: Path) -> None:
    text = f'[limits.radiation-kap-notification]\nvalue = 100\nunit = "Gy.cm2"\n{WHO}'
    limit = load_protocol(overlay(tmp_path, text)).limit("radiation-kap-notification")
    assert limit.status is Status.FROM_MEMORY
    assert not limit.stands


def test_sign_off_alone_accepts_a_limit_from_memory(tmp_path: Path) -> None:
    text = (
        '[limits.radiation-kap-notification]\nsigned_off_by = "Dr Invented"\n'
        "signed_off_on = 2026-02-03\n"
    )
    limit = load_protocol(overlay(tmp_path, text)).limit("radiation-kap-notification")
    assert limit.stands
    assert (limit.value, limit.overridden) == (300.0, None)
    assert limit.signed_off_on == dt.date(2026, 2, 3)


def test_choice_is_changed_and_what_it_was_stays_visible(tmp_path: Path) -> None:
    text = f'[choices.lidocaine-label]\nvalue = "bnf"\n{WHO}'
    choice = load_protocol(overlay(tmp_path, text)).choice("lidocaine-label")
    assert choice.value == "bnf"
    assert choice.overridden is not None
    assert choice.overridden.value_before == "us-label"


LIMIT = "[limits.cigarroa-maximum]\n"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            f'[limits.cigarroa-maximun]\nvalue = 1\nunit = "mL"\n{WHO}',
            "site.toml: limits.cigarroa-maximun (line 1): no such id in the protocol; "
            "perhaps cigarroa-maximum is meant.",
        ),
        (
            f'{LIMIT}value = 250\nunit = "L"\n{WHO}',
            'site.toml: limits.cigarroa-maximum.unit (line 3): unit "L"; give it in "mL".',
        ),
        (
            f'{LIMIT}value = 4000\nunit = "mL"\n{WHO}',
            "site.toml: limits.cigarroa-maximum.value (line 2): 4000 mL is outside the sanity "
            "bounds; give a value from 50 to 400 mL.",
        ),
        (
            f'{LIMIT}valeu = 250\nunit = "mL"\n{WHO}',
            "site.toml: limits.cigarroa-maximum.valeu (line 2): unknown key; "
            "perhaps value is meant.",
        ),
        (
            f'[limit.cigarroa-maximum]\nvalue = 250\nunit = "mL"\n{WHO}',
            "site.toml: limit: unknown key; perhaps limits is meant.",
        ),
        (
            f"{LIMIT}value = 250\n{WHO}",
            "site.toml: limits.cigarroa-maximum (line 1): a value needs its unit; add unit.",
        ),
        (
            f'{LIMIT}value = 250\nunit = "mL"\n',
            "site.toml: limits.cigarroa-maximum (line 1): a change needs why, changed_by and "
            "changed_on; add what is missing.",
        ),
        (
            f'{LIMIT}signed_off_by = "Dr Invented"\n',
            "site.toml: limits.cigarroa-maximum (line 1): a sign-off needs both signed_off_by "
            "and signed_off_on; add what is missing.",
        ),
        (
            f'{LIMIT}status = "published"\n{WHO}',
            "site.toml: limits.cigarroa-maximum (line 1): a new status needs the source it rests "
            "on; add source.",
        ),
        (
            f'{LIMIT}value = 250\nunit = "mL"\nsource = "s"\nstatus = "rumour"\n{WHO}',
            "site.toml: limits.cigarroa-maximum.status (line 5): 'rumour' cannot be used; "
            "it should be 'published'",
        ),
        (
            f'{LIMIT}value = "250"\nunit = "mL"\n{WHO}',
            "site.toml: limits.cigarroa-maximum.value (line 2): '250' cannot be used; "
            "it should be a valid number.",
        ),
        (
            f'[choices.lidocaine-label]\nvalue = "mine"\n{WHO}',
            'site.toml: choices.lidocaine-label.value (line 2): "mine" is no option; '
            "use one of us-label, bnf, ie-smpc.",
        ),
        (
            'a = 1\nb = "\n',
            "site.toml: line 2, column 6: not valid TOML (illegal character '\\n'); mend the line.",
        ),
    ],
)
def test_overlay_that_cannot_be_used_names_file_key_and_mend(
    tmp_path: Path, text: str, sentence: str
) -> None:
    with pytest.raises(FileProblem, match=re.escape(sentence)):
        load_protocol(overlay(tmp_path, text))


def test_overlay_that_does_not_exist_is_said_plainly(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match=r"none.toml: file: no such file or directory; give"):
        load_protocol(tmp_path / "none.toml")


def test_overlay_in_another_encoding_is_said_plainly(tmp_path: Path) -> None:
    file = tmp_path / "site.toml"
    file.write_bytes(b'a = "\xff"\n')
    with pytest.raises(FileProblem, match=r"site.toml: file: not UTF-8 text; save it as UTF-8"):
        load_protocol(file)


ROW = (
    'value = 5\nunit = "{unit}"\ntitle = "t"\nsource = "s"\nstatus = "published"\n'
    "minimum = 1\nmaximum = 9\n"
)


@pytest.mark.parametrize(
    ("first", "second", "sentence"),
    [
        ("[limits.a]\n" + ROW.format(unit="mL"), "[limits.a]\n" + ROW.format(unit="mL"), "twice"),
        ("[limits.a]\n" + ROW.format(unit="ml"), "", 'unknown unit "ml"; perhaps "mL" is meant'),
        (
            "[limits.a]\n" + ROW.format(unit="mL").replace("value = 5", "value = 12"),
            "",
            "12 mL is outside the sanity bounds; give a value from 1 to 9 mL",
        ),
        (
            "[limits.a]\n" + ROW.format(unit="mL").replace('source = "s"\n', ""),
            "",
            "limits.a (line 2): source is missing; add the key",
        ),
    ],
)
def test_data_folder_refuses_rows_that_cannot_be_used(
    tmp_path: Path, first: str, second: str, sentence: str
) -> None:
    (tmp_path / "one.toml").write_text(f'version = "1"\n{first}', encoding="utf-8")
    (tmp_path / "two.toml").write_text(f'version = "1"\n{second}', encoding="utf-8")
    said = "another data file holds this id too" if sentence == "twice" else sentence
    with pytest.raises(FileProblem, match=re.escape(said)):
        read_data_folder(tmp_path)
