"""Several programs at once, and one that is killed: what was acknowledged is there, once."""

import random

import pytest

from coilwright.store import check_record, open_record
from store.loading import told, writer
from store.places import Place


def test_three_programs_at_once_lose_nothing_and_double_nothing(place: Place) -> None:
    # One sends the even numbers, one the odd, and a third sends each of them once more.
    open_record(place.where, create=True).close()
    programs = [writer(place.where, *work) for work in ((0, 2, 40), (1, 2, 40), (0, 1, 80))]
    said = [program.communicate(timeout=120)[0].split() for program in programs]
    assert [len(numbers) for numbers in said] == [40, 40, 80]
    with open_record(place.where) as store:
        numbers = [entry.payload["number"] for entry in store.entries("shelf")]
        assert check_record(store) == ()
    assert sorted(numbers) == list(range(80))


@pytest.mark.parametrize("seed", range(2))
def test_a_killed_program_loses_no_entry_that_was_acknowledged(place: Place, seed: int) -> None:
    open_record(place.where, create=True).close()
    program = writer(place.where, 0, 1, 100_000)
    acknowledged = told(program, random.Random(seed).randrange(1, 60))
    program.kill()  # SIGKILL, by this program's own id
    acknowledged += [int(line) for line in program.communicate(timeout=60)[0].split()]
    with open_record(place.where) as store:
        store.append([])  # takes its turn behind what a killed program's server still finishes
        numbers = [entry.payload["number"] for entry in store.entries("shelf")]
        assert check_record(store) == ()
    # One commit may have been whole before its acknowledgement was on its way.
    assert numbers[: len(acknowledged)] == acknowledged
    assert numbers == list(range(len(numbers)))
    assert len(numbers) - len(acknowledged) in (0, 1)
