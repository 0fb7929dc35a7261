"""A new file appears whole in a place that is free, also where no links can be made."""

import errno
import os
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from coilwright.store import AlreadyThere, check_record, open_record
from coilwright.store.placing import new_file
from store.drafts import draft
from store.places import Place


def no_links(*_: object) -> None:
    raise OSError(errno.EPERM, os.strerror(errno.EPERM))


def test_a_file_system_without_links_gets_the_file_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "link", no_links)
    with open_record(tmp_path / "site.record", create=True) as store:
        store.append([draft(1)])
        assert check_record(store) == ()
    assert [path.name for path in tmp_path.iterdir()] == ["site.record"]


@pytest.mark.parametrize("links", [True, False])
def test_what_another_program_put_there_meanwhile_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool
) -> None:
    if not links:
        monkeypatch.setattr(os, "link", no_links)
    place = tmp_path / "site.backup"
    with pytest.raises(AlreadyThere, match=r"^site\.backup: place: .*nothing was changed"):
        _place_late(place)
    assert place.read_text(encoding="utf-8") == "theirs"
    assert [path.name for path in tmp_path.iterdir()] == ["site.backup"]


def _place_late(place: Path) -> None:
    with new_file(place) as made:
        made.write_text("ours", encoding="utf-8")
        place.write_text("theirs", encoding="utf-8")


def test_several_that_make_the_record_at_once_get_the_same_one(place: Place) -> None:
    with ThreadPoolExecutor(4) as pool:
        stores = list(pool.map(lambda _: open_record(place.where, create=True), range(4)))
    for number, store in enumerate(stores):
        with store:
            store.append([draft(number)])
    with open_record(place.where) as store:
        assert [entry.payload["number"] for entry in store.entries("shelf")] == [0, 1, 2, 3]
        assert check_record(store) == ()
