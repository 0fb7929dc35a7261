"""Three clients killed again and again while they write (in full: benchmarks/record_kill.py)."""

from pathlib import Path

from store.killing import killed_clients
from store.places import Place


def test_clients_killed_during_commits_lose_nothing_and_double_nothing(
    place: Place, tmp_path: Path
) -> None:
    counted = killed_clients(place.where, tmp_path, total=90, kills=6, seed=1)
    assert (counted.acknowledged, counted.in_record) == (90, 90)
    assert (counted.lost, counted.doubled, counted.faults) == (0, 0, ())
    assert counted.kills >= 4  # a client that ends its work first is not killed any more
    assert place.run("SELECT count(DISTINCT id), count(*) FROM entry") == [(90, 90)]
