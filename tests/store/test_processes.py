"""Several programs at once, and one that is killed: what was acknowledged is there, once."""

import os
import random
import subprocess
import sys
from pathlib import Path

import pytest

from coilwright.store import check_record, open_record

CHILD = Path(__file__).with_name("append_child.py")


def child(file: Path, first: int, step: int, count: int) -> "subprocess.Popen[str]":
    command = [sys.executable, str(CHILD), str(file), str(first), str(step), str(count)]
    surroundings = os.environ | {"PYTHONPATH": str(CHILD.parents[1])}
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=surroundings)


def test_three_programs_at_once_lose_nothing_and_double_nothing(tmp_path: Path) -> None:
    # One sends the even numbers, one the odd, and a third sends each of them once more.
    file = tmp_path / "site.record"
    open_record(file, create=True).close()
    programs = [child(file, 0, 2, 40), child(file, 1, 2, 40), child(file, 0, 1, 80)]
    told = [program.communicate(timeout=120)[0].split() for program in programs]
    assert [len(numbers) for numbers in told] == [40, 40, 80]
    with open_record(file) as store:
        numbers = [entry.payload["number"] for entry in store.entries("shelf")]
        assert check_record(store) == ()
    assert sorted(numbers) == list(range(80))


@pytest.mark.parametrize("seed", range(4))
def test_a_killed_program_loses_no_entry_that_was_acknowledged(tmp_path: Path, seed: int) -> None:
    file = tmp_path / "site.record"
    open_record(file, create=True).close()
    program = child(file, 0, 1, 100_000)
    assert program.stdout is not None
    wanted = random.Random(seed).randrange(1, 60)
    told = [int(program.stdout.readline()) for _ in range(wanted)]
    program.kill()  # SIGKILL, by this program's own id
    told += [int(line) for line in program.communicate(timeout=60)[0].split()]
    with open_record(file) as store:
        numbers = [entry.payload["number"] for entry in store.entries("shelf")]
        assert check_record(store) == ()
    # One commit may have been whole before its acknowledgement was on its way.
    assert numbers[: len(told)] == told
    assert numbers == list(range(len(numbers)))
    assert len(numbers) - len(told) in (0, 1)
