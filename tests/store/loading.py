"""A program that writes entries to a record while a test does something else."""

import os
import subprocess
import sys
from pathlib import Path

CHILD = Path(__file__).with_name("append_child.py")


def writer(where: Path | str, first: int, step: int, count: int) -> "subprocess.Popen[str]":
    """Start it; it prints each number that was acknowledged."""
    command = [sys.executable, str(CHILD), str(where), str(first), str(step), str(count)]
    surroundings = os.environ | {"PYTHONPATH": str(CHILD.parents[1])}
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=surroundings)


def told(program: "subprocess.Popen[str]", count: int) -> list[int]:
    """The next numbers that it says were acknowledged."""
    assert program.stdout is not None
    return [int(program.stdout.readline()) for _ in range(count)]
