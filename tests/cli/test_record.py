"""`coilwright verify`, `backup` and `restore` as a person meets them."""

import sqlite3
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from coilwright.cli.main import app
from coilwright.store import open_record
from store.drafts import draft

NAME = "Invented Person"


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(app, [str(word) for word in words])


@pytest.fixture
def record(tmp_path: Path) -> Path:
    """Three entries of the shelf and two of a case that names somebody."""
    file = tmp_path / "site.record"
    with open_record(file, create=True) as store:
        store.append([draft(number) for number in range(3)])
        store.append([draft(number, stream="case-1", name=NAME) for number in (10, 11)])
    return file


def rewritten(file: Path, act: str) -> None:
    connection = sqlite3.connect(file)
    connection.execute("DROP TRIGGER entry_refuses_update")
    connection.execute("DROP TRIGGER entry_refuses_delete")
    connection.execute(act)
    connection.commit()
    connection.close()


def test_a_sound_record_verifies(record: Path) -> None:
    done = run("verify", record)
    assert done.exit_code == 0
    assert done.output == (
        "site.record: 5 entries in 2 streams; every entry is as it was written.\n"
    )


def test_the_first_broken_entry_of_each_stream_is_named_and_nobody_else(record: Path) -> None:
    rewritten(record, "UPDATE entry SET payload = replace(payload, 'n', 'm') WHERE seq > 0")
    done = run("verify", record)
    assert done.exit_code == 2
    case, shelf, end = done.output.splitlines()
    words = "it was altered after it was written"
    assert case == f"broken: stream case-1, entry 1 (id {draft(11).id}): {words}"
    assert shelf == f"broken: stream shelf, entry 1 (id {draft(1).id}): {words}"
    assert end.startswith("site.record: 5 entries in 2 streams; BROKEN.")
    assert "Invented" not in done.output


def test_a_cut_tail_is_named_and_the_backup_knows_its_id(record: Path, tmp_path: Path) -> None:
    assert run("backup", record, tmp_path / "site.backup").exit_code == 0
    rewritten(record, "DELETE FROM entry WHERE stream = 'shelf' AND seq = 2")
    alone = run("verify", record)
    beside = run("verify", record, "--backup", tmp_path / "site.backup")
    assert (alone.exit_code, beside.exit_code) == (2, 2)
    missing = "this entry and all after it are missing"
    assert f"broken: stream shelf, entry 2: {missing}\n" in alone.output
    assert f"broken: stream shelf, entry 2 (id {draft(2).id}): {missing}\n" in beside.output


def test_a_backup_restores_to_a_record_that_verifies(record: Path, tmp_path: Path) -> None:
    made = run("backup", record, tmp_path / "site.backup")
    assert made.exit_code == 0, made.output
    size, manifest, _ = made.output.splitlines()
    assert size == "site.backup: 5 entries in 2 streams, proven."
    restored = run("restore", tmp_path / "site.backup", tmp_path / "new.record")
    assert restored.exit_code == 0, restored.output
    assert restored.output.splitlines()[1] == manifest
    done = run("verify", tmp_path / "new.record", "--backup", tmp_path / "site.backup")
    assert done.exit_code == 0
    assert done.output.endswith("written, and holds all that site.backup holds.\n")


def test_a_clock_that_was_wrong_is_a_note_and_no_fault(tmp_path: Path) -> None:
    # By hand: the drafts' times follow their numbers in seconds; 7300 - 100 s are 2 h 0 min 0 s.
    with open_record(tmp_path / "site.record", create=True) as store:
        store.append([draft(7300), draft(100)])
    done = run("verify", tmp_path / "site.record")
    assert done.exit_code == 0
    note, end = done.output.splitlines()
    assert note.startswith(f"note: stream shelf, entry 1 (id {draft(100).id}): by its own time ")
    assert "recorded 2 h 0 min 0 s before the entry ahead of it" in note
    assert end.endswith("every entry is as it was written.")


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["verify", "nowhere"], "nowhere: record: not found; name the file"),
        (["backup", "nowhere", "b"], "nowhere: record: not found; name the file"),
        (["restore", "nowhere", "r"], "nowhere: backup: no such file or directory; name a file"),
        (["verify", "mysql://h/b"], "database URL: record: not a path, and not postgresql"),
    ],
)
def test_what_cannot_be_used_is_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: list[str], sentence: str
) -> None:
    monkeypatch.chdir(tmp_path)
    done = run(*words)
    assert done.exit_code == 2
    assert done.stderr.startswith(sentence)
    assert done.stderr.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_a_streams_name_cannot_write_on_the_screen(record: Path) -> None:
    rewritten(
        record, "UPDATE entry SET stream = char(27) || '[2J' WHERE stream = 'shelf' AND seq = 1"
    )
    done = run("verify", record)
    assert done.exit_code == 2
    assert "\x1b" not in done.output
    assert r"stream '\x1b[2J'" in done.output
