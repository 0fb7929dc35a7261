"""The recall list: what is taken, and what is refused with its place."""

from pathlib import Path

import pytest

from coilwright.errors import FileProblem
from coilwright.kit import load_recalls

HEAD = 'format = "coilwright.recalls"\nversion = 1\n'
# FDA, UDI formats by issuing agency, v1.3 (2017): the identifier of its GS1 example.
RECALL = '[[recall]]\ndi = "51022222233336"\nlots = ["A213B1"]\nsource = "Notice of the test"\n'


def written(folder: Path, text: str) -> Path:
    file = folder / "recalls.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_some_lots_or_every_lot_of_a_device_are_read(tmp_path: Path) -> None:
    every = RECALL.replace('["A213B1"]', '"every"')
    some, all_lots = load_recalls(written(tmp_path, HEAD + RECALL + every))
    assert (some.di, some.lots, some.source) == (
        "51022222233336",
        frozenset({"A213B1"}),
        "Notice of the test",
    )
    assert all_lots.lots is None


def test_a_list_without_recalls_says_so_in_words(tmp_path: Path) -> None:
    assert load_recalls(written(tmp_path, HEAD + "recall = []\n")) == ()
    with pytest.raises(FileProblem, match="recall: missing; add recall"):
        load_recalls(written(tmp_path, HEAD))


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("51022222233336", "51022222233337", r"recall\[1\]\.di: '51022222233337' is no device"),
        ('["A213B1"]', "[]", r"recall\[1\]\.lots: \[\] cannot be used; write the lots"),
        ('["A213B1"]', "[7]", r"recall\[1\]\.lots: \[7\] cannot be used"),
        ('"Notice of the test"', '" "', r"recall\[1\]\.source: empty; name the notice"),
        ("source", "sauce", r"recall\[1\]\.sauce: unknown key; use di, lots, source"),
        ("lots = ", "# ", r"recall\[1\]\.lots: missing; add lots"),
        ("[[recall]]", "[recall]", r"recall: not a list of tables"),
        ("coilwright.recalls", "coilwright.kit", "format: not a recall list"),
        ("version = 1", "version = 2", "version: 2 is not known here"),
        ("version = 1", "version = true", "version: True is not known here"),
    ],
)
def test_a_wrong_recall_is_told_with_its_place_and_the_mend(
    tmp_path: Path, old: str, new: str, sentence: str
) -> None:
    file = written(tmp_path, (HEAD + RECALL).replace(old, new, 1))
    with pytest.raises(FileProblem, match=rf"^recalls\.toml: {sentence}"):
        load_recalls(file)


def test_the_example_is_a_recall_list() -> None:
    example = Path(__file__).parents[2] / "examples" / "shelf" / "recalls.toml"
    assert [recall.lots is None for recall in load_recalls(example)] == [False, True]
