"""Bar codes in a photograph of a pack: DataMatrix and the linear codes of the trade."""

import io

import zxingcpp
from PIL import Image, UnidentifiedImageError

from coilwright.kit.udi_problem import ScanProblem

# Above any camera of a phone on a pack; bounds the memory that one upload may take.
MOST_PIXELS = 60_000_000

_FORMATS = zxingcpp.barcode_formats_from_str("DataMatrix,QRCode,Code128,Code39,EAN13,UPCA,ITF14")
_MEND = "photograph the code straight on, sharp and filling the picture, or scan it"


def scans_in_photo(image: bytes) -> tuple[str, ...]:
    """Every code of a PNG or JPEG, each as a scanner would send it with its symbology prefix.

    The same code seen twice is given once. Which of them belong to one pack is for whoever holds
    it to say: hand that pack's to ``read_udi`` together.

    Raises
    ------
    ScanProblem
        No picture, too large a one, or none of its codes can be read.
    """
    try:
        picture = Image.open(io.BytesIO(image), formats=("PNG", "JPEG"))
        if picture.width * picture.height > MOST_PIXELS:
            found = f"{picture.width} x {picture.height} pixels"
            raise ScanProblem("photo", found, f"give at most {MOST_PIXELS // 1_000_000} megapixels")
        grey = picture.convert("L")
    except (UnidentifiedImageError, OSError, Image.DecompressionBombError, SyntaxError):
        found = "it cannot be read as a PNG or JPEG picture"
        raise ScanProblem("photo", found, "take it again as PNG or JPEG") from None
    codes = zxingcpp.read_barcodes(grey, formats=_FORMATS, text_mode=zxingcpp.TextMode.Plain)
    if not codes:
        raise ScanProblem("photo", "no bar code in it can be read", _MEND)
    return tuple(dict.fromkeys(code.symbology_identifier + code.text for code in codes))
