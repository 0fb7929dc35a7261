"""The kit file: what it gives, and one clear sentence for each way that it can be wrong."""

import tomllib
from datetime import date
from pathlib import Path

import pytest

from coilwright.errors import FileProblem
from coilwright.kit import Coil, CoilDelivery, MrCondition, load_kit
from kit.devices import DEMO_KIT, demo_kit

HEAD = 'format = "coilwright.kit"\nversion = 1\n'
CATHETER = """
[[catheters]]
id = "c5"
name = "5 F catheter"
outer_fr = 5
lumen_inch = 0.038
length_cm = 65
read_at = "pack"
shelf_count = 2
"""


def written(folder: Path, text: str) -> Path:
    file = folder / "kit.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_a_coil_keeps_its_label_its_lot_and_where_it_was_read() -> None:
    coil = demo_kit().device("lw-8-140")
    assert isinstance(coil, Coil)
    assert (coil.diameter_mm, coil.wire_diameter_inch, coil.length_mm) == (8, 0.035, 140)
    assert (coil.lot, coil.expiry, coil.shelf_count) == ("LW26A117", date(2028, 12, 31), 5)
    assert coil.delivery is CoilDelivery.PUSHABLE
    assert coil.read_at


def test_a_field_strength_that_the_label_is_silent_on_stays_null() -> None:
    # CLINICAL.md 7: a 1.5 T label does not cover 3 T.
    at_1_5, at_3 = demo_kit().device("sm-6-120").mr
    assert at_1_5.label is not None
    assert at_3 == MrCondition(field_t=3.0, label=None)


def test_every_implant_of_the_demo_case_is_in_the_demo_kit_with_its_lot() -> None:
    case = tomllib.loads(DEMO_KIT.with_name("case.toml").read_text(encoding="utf-8"))
    implants = case["given"]["implants"]
    assert implants
    for implant in implants:
        assert demo_kit().device(implant["device"]).lot == implant["lot"]


def test_a_device_may_be_used_until_the_end_of_its_last_day() -> None:
    coil = demo_kit().device("lw-8-140")
    assert coil.usable(date(2028, 12, 31))
    assert not coil.usable(date(2029, 1, 1))
    assert coil.expired(date(2029, 1, 1)) is True


def test_an_unlabelled_expiry_is_not_known_rather_than_fine(tmp_path: Path) -> None:
    (catheter,) = load_kit(written(tmp_path, HEAD + CATHETER)).catheters
    assert catheter.expired(date(2026, 1, 1)) is None


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("shelf_count = 2\n", "", r"catheters\[1\]\.shelf_count: missing; give a whole number"),
        ("lumen_inch", "lumen_cm", r"catheters\[1\]\.lumen_cm: .*lumen_inch or lumen_mm"),
        ("0.038", "0.07", r"catheters\[1\]\.lumen_inch: wider inside than the 1\.67 mm"),
        ("0.038", "0.965", r"catheters\[1\]\.lumen_inch: 0.965 is not possible"),
        ("= 5\n", '= "5 F"\n', r"catheters\[1\]\.outer_fr: '5 F' cannot be used; .* French"),
        ("= 5\n", "= nan\n", r"catheters\[1\]\.outer_fr: .*give a"),
        ("= 65", "= 0", r"catheters\[1\]\.length_cm: 0 is not possible"),
        ("outer_fr", "outr_fr", r"catheters\[1\]\.outr_fr: unknown key; perhaps outer_fr"),
        ("= 2\n", "= 2.5\n", r"catheters\[1\]\.shelf_count: 2.5 cannot be used; .*whole"),
        ("= 2\n", "= -1\n", r"catheters\[1\]\.shelf_count: -1 is not possible"),
        ('"pack"', '" "', r"catheters\[1\]\.read_at: empty"),
        ("[[catheters]]", "[[cathetrs]]", r"cathetrs: unknown key; perhaps catheters"),
        ("[[catheters]]", "[catheters]", r"catheters: not a list of tables"),
    ],
)
def test_a_wrong_row_is_told_with_its_field_and_the_mend(
    tmp_path: Path, old: str, new: str, sentence: str
) -> None:
    file = written(tmp_path, HEAD + CATHETER.replace(old, new, 1))
    with pytest.raises(FileProblem, match=rf"^kit\.toml: {sentence}"):
        load_kit(file)


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        (
            'udi_di = "51022222233337"',
            "udi_di: no GTIN of fourteen figures with a right check digit",
        ),
        ('expiry = "June 2028"', r"expiry: 'June 2028' cannot be used; give a date such as"),
        ("mr = [{ field_t = 1.5, text = 'x' }]", r"mr\.text: unknown key"),
        ("mr = [{ field_t = -3 }]", r"mr\.field_t: -3; give the field in tesla"),
        ("mr = 'MR Safe'", r"mr: 'MR Safe' cannot be used; give a list"),
    ],
)
def test_a_wrong_optional_value_is_told_too(tmp_path: Path, line: str, sentence: str) -> None:
    file = written(tmp_path, HEAD + CATHETER + line + "\n")
    with pytest.raises(FileProblem, match=rf"catheters\[1\]\.{sentence}"):
        load_kit(file)


def test_an_id_that_stands_twice_is_refused(tmp_path: Path) -> None:
    file = written(tmp_path, HEAD + CATHETER + CATHETER)
    with pytest.raises(FileProblem, match="id: c5 stands twice"):
        load_kit(file)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", 'format: not a kit; write format = "coilwright.kit"'),
        (HEAD.replace("1", "2"), "version: 2 is not known here"),
        ("[[catheters", "not valid TOML"),
    ],
)
def test_a_file_that_is_no_kit_is_refused(tmp_path: Path, text: str, sentence: str) -> None:
    with pytest.raises(FileProblem, match=sentence):
        load_kit(written(tmp_path, text))


def test_a_file_that_is_not_there_or_not_text_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match="no such file"):
        load_kit(tmp_path / "kit.toml")
    (tmp_path / "kit.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(FileProblem, match="not UTF-8 text"):
        load_kit(tmp_path / "kit.toml")


def test_a_coil_thinner_than_its_own_wire_is_refused(tmp_path: Path) -> None:
    row = DEMO_KIT.read_text(encoding="utf-8")
    at = row.index("[[coils]]")
    coil = row[at : row.index("[[coils]]", at + 1)]
    wrong = coil.replace("diameter_mm = 5", "diameter_mm = 1", 1)
    wrong = wrong.replace("wire_diameter_inch = 0.035", "wire_diameter_inch = 0.05", 1)
    with pytest.raises(FileProblem, match=r"coils\[1\]\.wire_diameter_inch: as thick as"):
        load_kit(written(tmp_path, HEAD + wrong))


def test_a_value_read_elsewhere_than_the_rest_keeps_its_own_place() -> None:
    micro = demo_kit().device("micro-27-130")
    assert micro.where_read("outer_distal_fr") == "invented leaflet of the demo, table of sizes"
    assert micro.where_read("outer_fr") == "invented label of the demo"


def test_one_field_strength_twice_is_refused(tmp_path: Path) -> None:
    line = "mr = [{ field_t = 3, label = 'a' }, { field_t = 3, label = 'b' }]\n"
    with pytest.raises(FileProblem, match=r"catheters\[1\]\.mr: one field strength twice"):
        load_kit(written(tmp_path, HEAD + CATHETER + line))


def test_a_microcatheters_tip_wider_than_its_widest_shaft_is_refused(tmp_path: Path) -> None:
    row = CATHETER.replace("catheters", "microcatheters") + "outer_distal_fr = 6\n"
    with pytest.raises(FileProblem, match=r"outer_distal_fr: wider than the widest shaft"):
        load_kit(written(tmp_path, HEAD + row))
