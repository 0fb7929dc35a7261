"""Clients killed at random moments while they write, and what of their entries the record holds."""

import os
import subprocess
import sys
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from random import Random

from coilwright.store import RecordFault, RecordStore, check_record, open_record
from store.killed_client import STREAMS, acknowledged

CLIENT = Path(__file__).with_name("killed_client.py")
CLIENTS = 3
# A commit takes about that long: the kill falls anywhere in the next one or two.
LONGEST_DELAY_S = 0.008


@dataclass(frozen=True, slots=True, kw_only=True)
class KillCount:
    """What was counted: entries by their numbers, and the kills."""

    acknowledged: int
    in_record: int
    kills: int
    written_unacknowledged: int
    lost: int
    doubled: int
    faults: tuple[RecordFault, ...]
    seconds: float


@dataclass(slots=True)
class _Tally:
    kills: int = 0
    found: int = 0


def killed_clients(
    where: Path | str, folder: Path, *, total: int, kills: int, seed: int
) -> KillCount:
    """Let three clients write ``total`` entries to a new record, and kill them as often."""
    open_record(where, create=True).close()
    lists = [folder / f"acknowledged-{client}" for client in range(CLIENTS)]
    started = time.perf_counter()
    with ThreadPoolExecutor(CLIENTS) as pool:
        work = [
            pool.submit(_one_client, where, client, kept, total, kills // CLIENTS, seed)
            for client, kept in enumerate(lists)
        ]
        tallies = [one.result() for one in work]
    seconds = time.perf_counter() - started
    told = Counter(number for kept in lists for number in acknowledged(kept))
    with open_record(where) as store:
        there, faults = _numbers(store), check_record(store)
    return KillCount(
        acknowledged=len(told),
        in_record=there.total(),
        kills=sum(tally.kills for tally in tallies),
        written_unacknowledged=sum(tally.found for tally in tallies),
        lost=len(told.keys() - there.keys()),
        doubled=there.total() - len(there),
        faults=faults,
        seconds=seconds,
    )


def _numbers(store: RecordStore) -> Counter[int]:
    return Counter(e.payload["number"] for stream in STREAMS for e in store.entries(stream))


def _one_client(
    where: Path | str, client: int, kept: Path, total: int, kills: int, seed: int
) -> _Tally:
    """Kill the client a number of times, each some entries later; then let it end its work."""
    chance = Random(seed * CLIENTS + client)
    tally = _Tally()
    longest_life = max(2, 2 * total // CLIENTS // (kills + 1))
    for _ in range(kills):
        process = _started(where, client, total, kept)
        life = chance.randrange(1, longest_life)
        if _read(process, life, tally) == life:
            # Waiting for the process is waiting a random time: it ends only with its work.
            if _ends_within(process, chance.uniform(0, LONGEST_DELAY_S)):
                break
            process.kill()  # SIGKILL, by this process's own id
            tally.kills += 1
        _end(process, tally)
    last = _started(where, client, total, kept)
    _end(last, tally)
    if last.returncode != 0:
        raise RuntimeError(f"client {client} ended with {last.returncode}")
    return tally


def _started(where: Path | str, client: int, total: int, kept: Path) -> "subprocess.Popen[str]":
    command = [sys.executable, str(CLIENT), str(where), str(client), str(CLIENTS), str(total)]
    surroundings = os.environ | {"PYTHONPATH": str(CLIENT.parents[1])}
    return subprocess.Popen(
        [*command, str(kept)], stdout=subprocess.PIPE, text=True, env=surroundings
    )


def _read(process: "subprocess.Popen[str]", lines: int, tally: _Tally) -> int:
    """Read so many lines, fewer where the client ends before; count what was there already."""
    assert process.stdout is not None
    for count in range(lines):
        line = process.stdout.readline()
        if not line.endswith("\n"):
            return count
        tally.found += int(line.split()[1])
    return lines


def _ends_within(process: "subprocess.Popen[str]", seconds: float) -> bool:
    try:
        process.wait(timeout=seconds)
    except subprocess.TimeoutExpired:
        return False
    return True


def _end(process: "subprocess.Popen[str]", tally: _Tally) -> None:
    rest = process.communicate(timeout=600)[0].splitlines(keepends=True)
    tally.found += sum(int(line.split()[1]) for line in rest if line.endswith("\n"))
