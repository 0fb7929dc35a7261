"""Clients killed at random moments of rapid entries: what the record then holds.

Three client processes write 1 000 entries in all, each entry in a transaction of its own, each
client with its own list of acknowledgements, synced to the disk line by line. Each is killed by its
process id (SIGKILL) at random moments while it writes, started again, and sends what its list does
not hold with the same id. Counted on both databases: entries acknowledged but not in the record,
entries in it twice, and whether the chains hold. The server runs with its usual settings for safety
(fsync on) in a folder of its own.

    PYTHONPATH=tests .venv/bin/python benchmarks/record_kill.py [--entries 1000] [--kills 90]
"""

import argparse
import platform
import tempfile
from pathlib import Path

from coilwright.store import backup_record, examine_record, open_record, restore_record
from store.drafts import START
from store.killing import CLIENTS, KillCount, killed_clients
from store.postgresql_server import programs, running_server

HEADINGS = (
    "database",
    "seed",
    "acknowledged",
    "in the record",
    "kills",
    "killed between commit and acknowledgement",
    "lost",
    "doubled",
    "chains",
    "restored backup",
    "time",
)


def main() -> None:
    """Print one line of a table for each database and seed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--entries", type=int, default=1000)
    parser.add_argument("--kills", type=int, default=90)
    parser.add_argument("--seeds", type=int, nargs="+", default=[1, 2])
    asked = parser.parse_args()
    print(f"{platform.system()}, {platform.machine()}, Python {platform.python_version()}")
    print(f"{CLIENTS} clients, {asked.entries} entries")
    print(f"| {' | '.join(HEADINGS)} |\n|{'---|' * len(HEADINGS)}")
    for seed in asked.seeds:
        with tempfile.TemporaryDirectory() as folder:
            report("SQLite", Path(folder) / "site.record", Path(folder), asked, seed)
    bin_folder = programs()
    if bin_folder is None:
        print("no PostgreSQL on this machine: that half did NOT run")
        return
    with running_server(bin_folder, fsync=True) as server:
        for seed in asked.seeds:
            with tempfile.TemporaryDirectory() as folder:
                url = server.url(server.new_database())
                report("PostgreSQL", url, Path(folder), asked, seed)


def report(
    database: str, where: Path | str, folder: Path, asked: argparse.Namespace, seed: int
) -> None:
    """Run once and print its line; a backup is restored and verified too."""
    counted = killed_clients(where, folder, total=asked.entries, kills=asked.kills, seed=seed)
    print(
        "| " + " | ".join([database, str(seed), *cells(counted, backed_up(where, folder))]) + " |"
    )


def backed_up(where: Path | str, folder: Path) -> str:
    """Whether a backup restores to a record that holds all of it."""
    backup, again = folder / "site.backup", folder / "again.record"
    with open_record(where) as store:
        backup_record(store, backup, made_at=START)
    restore_record(backup, again)
    with open_record(again) as store:
        return "verifies" if not examine_record(store, backup=backup).faults else "BROKEN"


def cells(counted: KillCount, backup: str) -> list[str]:
    """The line's cells after the database and the seed."""
    numbers = (
        counted.acknowledged,
        counted.in_record,
        counted.kills,
        counted.written_unacknowledged,
        counted.lost,
        counted.doubled,
    )
    chains = "BROKEN" if counted.faults else "hold"
    return [*map(str, numbers), chains, backup, f"{counted.seconds:.0f} s"]


if __name__ == "__main__":
    main()
