"""How long a shelf of thousands of packs takes to answer, beyond the program's start.

Three shelves: thousands of packs of a department's few hundred devices; thousands of devices that
share the usual sizes; and thousands of which every one has a size of its own. Each pack is received
by an entry of the record. Timed are the steps of the commands, in one process whose imports are
done: reading the kit (CSV), reading and folding the record, the answer of `fits`, and the pull-list
for the demo's plan.

    .venv/bin/python benchmarks/shelf.py [--items 5000] [--times 5]
"""

import argparse
import csv
import io
import statistics
import tempfile
import time
from collections.abc import Callable
from dataclasses import fields, replace
from datetime import UTC, date, datetime
from pathlib import Path
from random import Random
from typing import Any, TypeVar
from uuid import UUID

from coilwright.cli.ending import leave_imports_alone
from coilwright.demo import write_demo_case
from coilwright.kit import Device, Kit, devices_named, fits, gtin_check_digit, load_kit
from coilwright.kit.kit import KINDS
from coilwright.planning import OcclusionPlan, pull_list
from coilwright.protocol import load_protocol
from coilwright.record import SHELF, DeviceReceived, Pack, fold_shelf, shelf_entry, stocked_kit
from coilwright.store import RecordStore, open_record
from coilwright.workflow.plan_case import plan_case

DAY = date(2026, 11, 25)
AT = datetime(2026, 11, 25, 8, tzinfo=UTC)
EXPIRY = date(2029, 6, 30)
CHAIN = ("sheath-5-11", "cath-5-65", "wire-35-180", "lw-8-140")
# Which labelled values differ in the second kit, and by how much at most: no two are alike, and
# each stays what such a device can be.
OWN_SIZE = {
    "length_cm": 20.0,
    "outer_fr": 0.3,
    "accepts_fr": 0.5,
    "lumen_inch": 0.004,
    "wire_inch": 0.003,
    "length_mm": 20.0,
    "diameter_mm": 1.0,
}
T = TypeVar("T")


def kit_of(base: Kit, items: int, random: Random | None) -> Kit:
    """The base kit again and again under new ids and identifiers; with ``random`` each resized."""
    tables: dict[str, list[Device]] = {table: [] for table in KINDS}
    sources = [(table, device) for table in KINDS for device in getattr(base, table)]
    for number in range(items):
        table, device = sources[number % len(sources)]
        figures = f"0040{number:09d}"
        named: dict[str, Any] = {"udi_di": figures + str(gtin_check_digit(figures))}
        if number >= len(sources):
            named["id"] = f"{device.id}-{number}"
            if random is not None:
                named |= _own_size(device, random)
        tables[table].append(replace(device, **named))
    return Kit(**{table: tuple(devices) for table, devices in tables.items()})  # type: ignore[arg-type]  # each table holds its own kind


def _own_size(device: Device, random: Random) -> dict[str, float]:
    return {
        name: round(value + random.uniform(0.0, most), 4)
        for name, most in OWN_SIZE.items()
        if (value := getattr(device, name, None)) is not None
    }


def kit_as_csv(kit: Kit) -> str:
    """The kit as a department would write it."""
    text = io.StringIO(newline="")
    columns = dict.fromkeys(f.name for kind in KINDS.values() for f in fields(kind))
    names = [name for name in columns if name not in ("mr", "sources")]
    writer = csv.DictWriter(text, ["kind", *names], extrasaction="ignore")
    writer.writeheader()
    for table in KINDS:
        for device in getattr(kit, table):
            row = {name: getattr(device, name, None) for name in names}
            row = {n: str(v).lower() if isinstance(v, bool) else v for n, v in row.items()}
            writer.writerow({"kind": table.removesuffix("s")} | row)
    return text.getvalue()


def fill(store: RecordStore, kit: Kit, packs: int) -> None:
    """So many packs received, lot after lot of each device in turn."""
    devices = list(kit)
    store.append(
        [
            shelf_entry(
                DeviceReceived(
                    pack=Pack(
                        di=devices[n % len(devices)].udi_di or "", lot=f"L{n}", expiry=EXPIRY
                    ),
                    count=3,
                ),
                id=UUID(int=n + 1),
                at=AT,
                recorded_at=AT,
                author="benchmark",
            )
            for n in range(packs)
        ]
    )


def timed(work: Callable[[], T], times: int) -> tuple[T, float]:
    """The result, and the median of the seconds."""
    seconds = []
    for _ in range(times):
        start = time.perf_counter()
        result = work()
        seconds.append(time.perf_counter() - start)
    return result, statistics.median(seconds)


def report(title: str, kit: Kit, packs: int, plan: OcclusionPlan, folder: Path, times: int) -> None:
    """One kit's times, step by step and for each command as a whole."""
    leave_imports_alone()  # as the commands do
    protocol = load_protocol()
    file = folder / "kit.csv"
    file.write_text(kit_as_csv(kit), encoding="utf-8")
    catalogue, load_s = timed(lambda: load_kit(file), times)
    with open_record(folder / f"{title}.record".replace(" ", "-"), create=True) as store:
        fill(store, catalogue, packs)
        entries, read_s = timed(lambda: store.entries(SHELF), times)
    shelf, fold_s = timed(lambda: fold_shelf(entries), times)
    stocked, stock_s = timed(lambda: stocked_kit(catalogue, shelf, DAY), times)

    def answer_fits() -> object:
        return fits(devices_named(CHAIN, stocked), stocked, protocol, on=DAY)

    _, fits_s = timed(answer_fits, times)
    pulled, pull_s = timed(lambda: pull_list(plan, stocked, protocol, on=DAY), times)
    print(f"{title}: {len(list(stocked))} devices, {len(entries)} entries")
    for name, seconds in (
        ("read the kit (CSV)", load_s),
        ("read the record", read_s),
        ("fold the shelf", fold_s),
        ("lay the shelf over the kit", stock_s),
        ("fits", fits_s),
        (f"pull-list ({len(pulled.lines)} lines)", pull_s),
        ("fits, from the kit", load_s + fits_s),
        ("pull-list, from the folded shelf", stock_s + pull_s),
        ("pull-list, from kit and record", load_s + read_s + fold_s + stock_s + pull_s),
    ):
        print(f"  {1000 * seconds:7.0f} ms  {name}")


def demo_plan(folder: Path) -> tuple[Kit, OcclusionPlan]:
    """The demo's kit and its plan."""
    case_file = write_demo_case(folder, lambda _: None)
    planned = plan_case(case_file, today=DAY)
    return load_kit(folder / "kit.toml"), planned.plan


def main() -> None:
    """Print the times of each shelf."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--items", type=int, default=5000)
    words.add_argument("--times", type=int, default=5)
    asked = words.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        base, plan = demo_plan(folder)
        for title, devices, random in (
            ("packs of a few hundred devices", 300, None),
            ("devices of the usual sizes", asked.items, None),
            ("devices of which every size differs", asked.items, Random(1)),
        ):
            kit = kit_of(base, devices, random)
            report(title, kit, asked.items, plan, folder, asked.times)


if __name__ == "__main__":
    main()
