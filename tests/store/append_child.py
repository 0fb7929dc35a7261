"""A program that appends entries one by one and prints the number of each that was acknowledged.

Usage: append_child.py RECORD FIRST STEP COUNT
"""

import os
import sys

from coilwright.store import open_record
from store.drafts import draft


def append_them(record: str, first: int, step: int, count: int) -> None:
    """Each entry in a transaction of its own, until whoever started this is gone."""
    starter = os.getppid()
    with open_record(record, busy_timeout_s=60.0) as store:
        for number in range(first, first + step * count, step):
            if os.getppid() != starter:
                return
            store.append([draft(number)])
            print(number, flush=True)


if __name__ == "__main__":
    append_them(sys.argv[1], *map(int, sys.argv[2:]))
