"""The demo's shelf as a delivery list: what its kit file counts, pack by pack."""

import csv
import io
from pathlib import Path

from coilwright.kit import load_kit
from coilwright.record.shelf_csv import SHELF_COLUMNS


def shelf_list(kit_file: Path) -> str:
    """The CSV of docs/shelf-csv.md for every device of the kit that has an identifier."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(SHELF_COLUMNS)
    for device in load_kit(kit_file):
        if device.udi_di is not None and device.shelf_count:
            pack = (device.udi_di, device.lot, None, device.expiry)
            writer.writerow((*pack, device.shelf_count))
    return text.getvalue()
