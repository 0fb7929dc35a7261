"""`coilwright shelf` as a person meets it: scans in, nothing booked that is not whole."""

import datetime as dt
import json
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image
from typer.testing import CliRunner, Result

from coilwright.cli.main import app
from coilwright.kit import load_kit
from demo.ready import ReadyDemo
from kit.devices import DEMO_KIT

# The demo's own coil, GTIN for circulation inside one house (GS1 prefix 040). Years are far off so
# that the day of the test does not matter.
COIL = "00400000001500"
SCAN = f"(01){COIL}(17)480630(10)CL07(21)S1"


def shelf(*words: str | Path, keyed: str | None = None) -> Result:
    return CliRunner().invoke(app, ["shelf", *(str(word) for word in words)], input=keyed)


@pytest.fixture
def record(tmp_path: Path) -> Path:
    file = tmp_path / "suite.record"
    assert shelf("begin", file).exit_code == 0
    return file


def received(record: Path, *words: str | Path, keyed: str | None = None) -> Result:
    return shelf("receive", record, DEMO_KIT, *words, "--by", "A. Scribe", keyed=keyed)


def listed(record: Path, folder: Path) -> list[dict[str, object]]:
    out = folder / "shelf.json"
    assert shelf("list", record, "--json", out).exit_code == 0
    document = json.loads(out.read_text(encoding="utf-8"))
    assert (document["format"], document["version"]) == ("coilwright.shelf", 1)
    return list(document["batches"])


def test_a_scan_is_booked_with_lot_serial_and_expiry(record: Path, tmp_path: Path) -> None:
    done = received(record, SCAN)
    assert done.exit_code == 0, done.output
    (batch,) = listed(record, tmp_path)
    assert batch["pack"] == {"di": COIL, "lot": "CL07", "serial": "S1", "expiry": "2048-06-30"}
    assert (batch["on_shelf"], batch["received"]) == (1, 1)


def test_a_scanner_that_types_line_after_line_is_booked_line_by_line(
    record: Path, tmp_path: Path
) -> None:
    # GS1 General Specifications 7.8.6: FNC1 behind a field of variable length is sent as ASCII 29.
    keyed = (
        f"]d201{COIL}1748063010CL07\x1d21S1\n01{COIL}17480\n]d201{COIL}1748063010CL07\x1d21S2\n\n"
    )
    done = received(record, keyed=keyed)
    assert done.exit_code == 2
    assert "line 2: " in done.output
    assert "1 line not booked" in done.output
    assert [batch["pack"]["serial"] for batch in listed(record, tmp_path)] == ["S1", "S2"]  # type: ignore[index]  # read from JSON


def test_a_photograph_of_the_pack_is_read(record: Path, tmp_path: Path) -> None:
    # Written by zxing-cpp as a GS1 DataMatrix, which reads brackets as application identifiers.
    symbol = zxingcpp.create_barcode(
        SCAN, zxingcpp.BarcodeFormat.DataMatrix, gs1=True, force_square=True
    )
    photo = tmp_path / "pack.png"
    Image.fromarray(symbol.to_image(scale=8, add_quiet_zones=True)).save(photo)
    done = received(record, "--photo", photo)
    assert done.exit_code == 0, done.output
    (batch,) = listed(record, tmp_path)
    assert batch["pack"]["lot"] == "CL07"  # type: ignore[index]  # read from JSON


@pytest.mark.parametrize(
    ("scan", "sentence"),
    [
        (SCAN.replace("01500", "01501"), "check"),  # GS1: the check digit is 0
        (f"01{COIL}1748", "17"),  # half a scan
        (f"01{COIL}1748063010CL07\x1d01{COIL}17480630", "two"),  # two scans run together
        (f"(01){COIL}(05)X", "05"),
        ("+a123bjc5d6e71g", "lower-case"),
        ("", "empty"),
    ],
)
def test_a_scan_that_is_not_whole_books_nothing(
    record: Path, tmp_path: Path, scan: str, sentence: str
) -> None:
    done = received(record, scan)
    assert done.exit_code == 2
    assert sentence in done.output
    assert done.output.count("\n") == 1
    assert listed(record, tmp_path) == []


def test_an_expired_pack_stops_for_thought_and_is_booked_only_with_a_reason(
    record: Path, tmp_path: Path
) -> None:
    expired = f"(01){COIL}(17)200630(10)CL01"
    done = received(record, expired)
    assert done.exit_code == 2
    assert "udi-expiry" in done.output
    assert "Nothing was booked" in done.output
    assert listed(record, tmp_path) == []
    again = received(record, expired, "--despite", "for the training box")
    assert again.exit_code == 0, again.output
    (batch,) = listed(record, tmp_path)
    assert batch["despite"] == [{"reason": "for the training box", "rules": ["udi-expiry"]}]


def test_a_recalled_lot_stops_at_receipt_and_shows_on_the_shelf(
    record: Path, tmp_path: Path
) -> None:
    recalls = tmp_path / "recalls.toml"
    recalls.write_text(
        'format = "coilwright.recalls"\nversion = 1\n'
        f'[[recall]]\ndi = "{COIL}"\nlots = ["CL07"]\nsource = "Notice of the test"\n',
        encoding="utf-8",
    )
    assert received(record, SCAN).exit_code == 0
    done = received(record, SCAN.replace("S1", "S2"), "--recalls", recalls)
    assert done.exit_code == 2
    assert "Lot CL07 of this device is recalled. [Notice of the test]" in done.output
    checked = shelf("check", record, DEMO_KIT, "--recalls", recalls)
    assert checked.exit_code == 0, checked.output
    part = checked.output.split("recalled:")[1].split("expired:")[0]
    assert "lot CL07" in part
    assert "recalled: not asked" in shelf("check", record, DEMO_KIT).output


def test_one_serial_number_arrives_once_and_is_used_once(record: Path) -> None:
    assert received(record, SCAN).exit_code == 0
    twice = received(record, SCAN)
    assert twice.exit_code == 2
    assert "shelf-booked-in-before" in twice.output
    assert shelf("open", record, SCAN, "--case", "c1", "--by", "A").exit_code == 0
    used = shelf("open", record, SCAN, "--case", "c2", "--by", "A")
    assert used.exit_code == 0, used.output  # it happened: it is kept, and said aloud
    assert "stop and think (udi-used-before)" in used.output
    assert "1 more taken than booked in" in used.output


def test_sign_out_finds_the_pack_that_was_opened_and_not_accounted_for(record: Path) -> None:
    pack = f"(01){COIL}(17)480630(10)CL07"
    assert received(record, pack, "--count", "3").exit_code == 0
    for fact in (
        ("open", "--count", "3"),
        ("implant",),
        ("waste", "--reason", "dropped"),
    ):
        done = shelf(fact[0], record, pack, *fact[1:], "--case", "c1", "--by", "A")
        assert done.exit_code == 0, done.output
    before = shelf("check", record, DEMO_KIT, "--case", "c1").output
    assert "stop and think (shelf-sign-out)" in before
    assert "opened 3, implanted 1, wasted 1, returned 0: 1 is not accounted for" in before
    assert shelf("return", record, pack, "--case", "c1", "--by", "A").exit_code == 0
    after = shelf("check", record, DEMO_KIT, "--case", "c1").output
    assert "Every pack is accounted for" in after


def test_check_tells_what_expires_before_the_next_list_and_what_is_to_be_ordered(
    record: Path,
) -> None:
    soon = (dt.date.today() + dt.timedelta(days=5)).strftime("%y%m%d")
    assert received(record, f"(01){COIL}(17){soon}(10)CL09").exit_code == 0
    assert shelf("level", record, COIL, "2", "--by", "A").exit_code == 0
    next_list = (dt.date.today() + dt.timedelta(days=7)).isoformat()
    text = shelf("check", record, DEMO_KIT, "--next-list", next_list).output
    assert "lot CL09" in text.split(f"expires before {next_list}:")[1].split("no expiry")[0]
    assert "1 usable, order at 2" in text
    assert "expires before the next list: not asked" in shelf("check", record, DEMO_KIT).output


def test_a_list_goes_in_and_out_and_a_wrong_line_takes_nothing(
    record: Path, tmp_path: Path
) -> None:
    packs = tmp_path / "delivery.csv"
    text = f"di,lot,serial,expiry,count\n{COIL},CL07,,2048-06-30,4\n00400000000107,N1,,,2\n"
    packs.write_text(text.replace("2048-06-30", "30.6.2048"), encoding="utf-8")
    wrong = received(record, "--csv", packs)
    assert wrong.exit_code == 2
    assert "delivery.csv: line 2, column expiry: '30.6.2048' cannot be used" in wrong.output
    assert listed(record, tmp_path) == []
    packs.write_text(text, encoding="utf-8")
    assert received(record, "--csv", packs).exit_code == 0
    out = tmp_path / "out.csv"
    assert shelf("list", record, "--csv", out).exit_code == 0
    rows = sorted(out.read_text(encoding="utf-8").splitlines()[1:])
    assert rows == sorted(text.splitlines()[1:])


def test_a_withdrawn_entry_no_longer_counts_and_stays_in_sight(
    record: Path, tmp_path: Path
) -> None:
    entry = received(record, SCAN).output.split("entry ")[1].split()[0]
    done = shelf("withdraw", record, entry, "--why", "scanned the wrong box", "--by", "A")
    assert done.exit_code == 0, done.output
    assert listed(record, tmp_path) == []
    assert "scanned the wrong box" in shelf("list", record).output


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--at", "yesterday"), "--at: 'yesterday' is no time"),
        (("--at", "2099-01-01T10:00"), "--at: 2099-01-01T10:00 lies ahead"),
        (("--by", " "), "--by: empty"),
        (("--despite", " "), "--despite: empty"),
        (("--csv", "list.csv"), "SCAN and --csv: both given"),
        (("--count", "2"), "2 packs with one serial number"),
    ],
)
def test_an_option_that_cannot_be_used_books_nothing(
    record: Path, tmp_path: Path, words: tuple[str, str], sentence: str
) -> None:
    done = (
        received(record, SCAN, *words)
        if words[0] != "--by"
        else shelf("receive", record, DEMO_KIT, SCAN, *words)
    )
    assert done.exit_code == 2
    assert sentence in done.output
    assert listed(record, tmp_path) == []


def test_a_record_that_is_not_there_is_not_made_in_passing(tmp_path: Path) -> None:
    missing = tmp_path / "typo.record"
    done = received(missing, SCAN)
    assert done.exit_code == 2
    assert "typo.record" in done.output
    assert not missing.exists()


def test_the_demo_plan_brings_its_pull_list_with_counts_expiry_and_what_is_missing(
    record: Path, demo: ReadyDemo, tmp_path: Path
) -> None:
    plan = demo.folder / "plan.json"
    kit = demo.folder / "kit.toml"
    empty = shelf("check", record, kit, "--plan", plan).output
    assert "no rescue kit on the shelf" in empty.lower()
    done = shelf("receive", record, kit, "--csv", demo.folder / "shelf.csv", "--by", "A. Scribe")
    assert done.exit_code == 0, done.output
    out = tmp_path / "review.json"
    full = shelf("check", record, kit, "--plan", plan, "--json", out)
    assert full.exit_code == 0, full.output
    pulled = json.loads(out.read_text(encoding="utf-8"))["pull_list"]
    stocked = {device.id: device for device in load_kit(kit)}
    first = {
        level["first_choice"] for level in json.loads(plan.read_text(encoding="utf-8"))["levels"]
    }
    lines = [line for line in pulled["lines"] if line["purpose"] == "coil"]
    assert {line["device"] for line in lines} == first
    for line in lines:
        device = stocked[line["device"]]
        assert line["shelf_count"] == device.shelf_count
        assert line["expiry"] == str(device.expiry)
    # A captured coil needs the sheath that the snare's label names: 6 F in the demo's kit.
    rescue = pulled["rescue"]
    assert (rescue["snare"], rescue["sheath"]) == ("snare-10", "sheath-6-11")
    assert "missing: none" in full.output.split("pull-list")[1]
    assert "The operator" in full.output


def test_fits_and_plan_count_what_the_record_holds(record: Path, demo: ReadyDemo) -> None:
    # The regular-wall 18 G needle does not take 0.035 in (CLINICAL.md section 7); what would do
    # is named only while the shelf holds it.
    words = ["needle-18-regular", "wire-35-180", "--shelf", str(record)]
    before = CliRunner().invoke(app, ["fits", str(DEMO_KIT), *words]).output
    assert "no one device in this kit would do" in before
    done = shelf("receive", record, DEMO_KIT, "--csv", demo.folder / "shelf.csv", "--by", "A")
    assert done.exit_code == 0, done.output
    after = CliRunner().invoke(app, ["fits", str(DEMO_KIT), *words]).output
    assert "would do in place of needle-18-regular: needle-18-thin" in after
