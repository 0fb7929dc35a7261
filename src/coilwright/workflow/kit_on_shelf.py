"""A kit file, with the counts of a record's shelf where one is named."""

from datetime import date
from pathlib import Path

from coilwright.kit import Kit, load_kit
from coilwright.record import stocked_kit


def kit_on_shelf(kit_file: Path, record: Path | None, on: date) -> Kit:
    """The catalogue; counts, lots and expiries are the shelf's on that day, or the file's own.

    Raises
    ------
    InputError
        The kit or the record cannot be used.
    """
    kit = load_kit(kit_file)
    if record is None:
        return kit
    # The database takes time to import, and most commands do without.
    from coilwright.store import open_record  # noqa: PLC0415 - see above
    from coilwright.workflow.shelf_booking import shelf_of  # noqa: PLC0415 - see above

    with open_record(record) as store:
        return stocked_kit(kit, shelf_of(store), on)
