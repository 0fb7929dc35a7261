"""A client that writes entries one by one and keeps its own list of what was acknowledged.

It is meant to be killed and started again: what its list does not hold it sends with the same id.
For each entry it prints the number, and 1 where the record held it already.

Usage: killed_client.py RECORD FIRST STEP TOTAL LIST
"""

import os
import sys
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from coilwright.record import Entry
from coilwright.store import open_record
from store.drafts import draft

LINE = "{:06d}\n"
LINE_BYTES = len(LINE.format(0))
STREAMS = ("shelf", "case-1")


def acknowledged(kept: Path) -> list[int]:
    """The numbers of the list's whole lines; the last may have been cut by a kill."""
    content = kept.read_bytes() if kept.exists() else b""
    whole = len(content) // LINE_BYTES * LINE_BYTES
    return [int(line) for line in content[:whole].split()]


def sent(number: int) -> Entry:
    """The draft of that number; only the time at which it is sent differs from one to the next."""
    made = draft(number, stream=STREAMS[number % len(STREAMS)])
    return replace(made, recorded_at=datetime.now(UTC))


def write_entries(record: str, numbers: range, kept: Path) -> None:
    """Send what the list does not hold; on the disk first, then on the list."""
    done = acknowledged(kept)
    with kept.open("ab", buffering=0) as out, open_record(record, busy_timeout_s=60.0) as store:
        out.truncate(len(done) * LINE_BYTES)
        for number in sorted(set(numbers) - set(done)):
            asked = sent(number)
            (entry,) = store.append([asked])
            out.write(LINE.format(number).encode())
            os.fsync(out.fileno())
            print(number, int(entry.recorded_at != asked.recorded_at), flush=True)


if __name__ == "__main__":
    first, step, total = map(int, sys.argv[2:5])
    write_entries(sys.argv[1], range(first, total, step), Path(sys.argv[5]))
