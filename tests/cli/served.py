"""The real server in a process of its own, stopped as a person stops it."""

import re
import signal
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path


@dataclass(slots=True, kw_only=True)
class Served:
    """``address`` as printed; ``exit_code`` and ``complaint`` once it has been stopped."""

    address: str
    exit_code: int | None = None
    complaint: str = ""


@contextmanager
def served(command: list[str | Path]) -> Iterator[Served]:
    """Start ``command``, wait for the address that it prints, and press Ctrl-C at the end."""
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        address = None
        for line in process.stdout:
            address = re.search(r"http://\S+/", line)
            if address:
                break
        if address is None:
            raise AssertionError(f"no address was printed: {process.communicate()[1]}")
        running = Served(address=address[0])
        try:
            yield running
        finally:
            process.send_signal(signal.SIGINT)
            _, running.complaint = process.communicate(timeout=60)
            running.exit_code = process.returncode
