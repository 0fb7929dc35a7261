"""Codes written by one library (pyStrich), read from the picture by another (zxing-cpp)."""

import io
from datetime import date

import numpy as np
import pytest
from PIL import Image
from pystrich.code128 import FNC1 as CODE_128_FNC1
from pystrich.code128 import Code128Data, Code128Encoder
from pystrich.datamatrix import FNC1, DataMatrixData, DataMatrixEncoder
from pystrich.ean13 import EAN13Encoder

from coilwright.kit import udi_photo
from coilwright.kit.udi_photo import scans_in_photo
from coilwright.kit.udi_problem import ScanProblem
from coilwright.kit.udi_scan import read_udi

TODAY = date(2026, 11, 25)
# HL7 US Core (CLINICAL.md 8.1), in the two parts that a group separator divides.
PARTS = ("010950400005911817141120107654321D", "2110987654d321")


def gs1_datamatrix() -> Image.Image:
    data = DataMatrixData(FNC1, PARTS[0], FNC1, PARTS[1], encoding="ascii")
    return DataMatrixEncoder(data, quiet_zone=4).get_pilimage(6).convert("L")


def gs1_128(text: str) -> Image.Image:
    data = Code128Data(CODE_128_FNC1, text, encoding="ascii")
    return Code128Encoder(data).get_pilimage(3).convert("L")


def saved(picture: Image.Image, kind: str = "PNG") -> bytes:
    out = io.BytesIO()
    picture.save(out, kind)
    return out.getvalue()


def as_photographed(picture: Image.Image, *, turned_deg: float) -> Image.Image:
    """Turned, unevenly lit and noisy (seeded), on a larger grey ground."""
    ground = Image.new("L", (picture.width + 300, picture.height + 300), 200)
    ground.paste(picture, (150, 150))
    pixels = np.asarray(ground.rotate(turned_deg, fillcolor=200, resample=Image.Resampling.BICUBIC))
    light = np.linspace(0.6, 1.0, pixels.shape[1])[np.newaxis, :]
    noise = np.random.default_rng(5).normal(0, 6, pixels.shape)
    return Image.fromarray(np.clip(pixels * light + noise, 0, 255).astype(np.uint8))


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_a_gs1_datamatrix_is_read_to_the_device(kind: str) -> None:
    scans = scans_in_photo(saved(gs1_datamatrix(), kind))
    assert scans == ("]d2" + "\x1d".join(PARTS),)
    udi = read_udi(*scans, today=TODAY)
    assert (udi.di, udi.lot, udi.serial) == ("09504000059118", "7654321D", "10987654d321")


@pytest.mark.parametrize("turned_deg", [0.0, 17.0, 90.0, 200.0])
def test_a_turned_noisy_unevenly_lit_photo_is_read(turned_deg: float) -> None:
    photo = as_photographed(gs1_datamatrix(), turned_deg=turned_deg)
    assert scans_in_photo(saved(photo, "JPEG")) == ("]d2" + "\x1d".join(PARTS),)


def test_the_two_linear_codes_of_a_pack_make_one_device() -> None:
    codes = [gs1_128("0109504000059118"), gs1_128("17141120107654321D")]
    pack = Image.new("L", (max(code.width for code in codes) + 80, 900), 255)
    for code, top in zip(codes, (40, 480), strict=True):
        pack.paste(code, (40, top))
    scans = scans_in_photo(saved(pack))
    assert set(scans) == {"]C10109504000059118", "]C117141120107654321D"}
    assert read_udi(*scans, today=TODAY).lot == "7654321D"


def test_an_hibc_datamatrix_is_read_to_the_device() -> None:
    # ANSI/HIBC 2.6 example.
    data = DataMatrixData("+A99912345/$$52001510X33", encoding="ascii")
    scans = scans_in_photo(saved(DataMatrixEncoder(data, quiet_zone=4).get_pilimage(6)))
    assert read_udi(*scans, today=TODAY).lot == "10X3"


def test_a_retail_code_is_read_to_the_identifier() -> None:
    # 6291041500213: GS1's worked example (CLINICAL.md 8.1).
    scans = scans_in_photo(saved(EAN13Encoder("629104150021").get_pilimage(4)))
    assert read_udi(*scans, today=TODAY).di == "06291041500213"


def test_a_code_seen_twice_is_given_once() -> None:
    code = gs1_datamatrix()
    pack = Image.new("L", (code.width * 2 + 40, code.height), 255)
    pack.paste(code, (0, 0))
    pack.paste(code, (code.width + 40, 0))
    assert len(scans_in_photo(saved(pack))) == 1


@pytest.mark.parametrize(
    ("image", "reason"),
    [
        (b"", "photo: it cannot be read as a PNG or JPEG"),
        (b"%PDF-1.7", "photo: it cannot be read as a PNG or JPEG"),
        (saved(Image.new("L", (64, 64), 255))[:60], "photo: it cannot be read as a PNG or JPEG"),
        (saved(Image.new("L", (64, 64), 255), "BMP"), "photo: it cannot be read as a PNG or JPEG"),
        (saved(Image.new("L", (640, 480), 255)), "photo: no bar code in it can be read"),
    ],
)
def test_what_is_no_photo_of_a_code_is_refused(image: bytes, reason: str) -> None:
    with pytest.raises(ScanProblem, match=reason):
        scans_in_photo(image)


def test_half_of_a_datamatrix_is_not_guessed_at() -> None:
    code = gs1_datamatrix()
    with pytest.raises(ScanProblem, match="no bar code in it can be read"):
        scans_in_photo(saved(code.crop((0, 0, code.width // 2, code.height))))


def test_a_picture_too_large_is_refused_before_it_is_unpacked(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(udi_photo, "MOST_PIXELS", 1_000_000)
    with pytest.raises(ScanProblem, match="1200 x 1000 pixels; give at most 1 megapixels"):
        scans_in_photo(saved(Image.new("L", (1200, 1000), 255)))
