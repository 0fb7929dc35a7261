"""Device identifiers as the three issuing agencies write them."""

import re

from coilwright.kit.gtin import is_gtin_14
from coilwright.kit.udi import Agency
from coilwright.kit.udi_hibc import is_hibc_primary
from coilwright.kit.udi_iccbba import is_iccbba_code

_FIGURES = re.compile(r"\d+")


def is_device_identifier(text: str) -> bool:
    """True for a GTIN of fourteen figures, an HIBC primary code, or an ISBT 128 product code.

    Only the GTIN carries a check digit of its own; of the others the form alone can be judged.

    Examples
    --------
    >>> is_device_identifier("51022222233336"), is_device_identifier("51022222233337")
    (True, False)
    >>> is_device_identifier("A123BJC5D6E71"), is_device_identifier("coil 8 mm")
    (True, False)
    """
    return identifier_agency(text) is not None


def identifier_agency(text: str) -> Agency | None:
    """Whose identifier it is by its form; None for no identifier.

    Figures alone are always taken for a GTIN, and what both other agencies could write for HIBC.

    References
    ----------
    FDA, UDI formats by issuing agency, version 1.3 (2017), restated in CLINICAL.md section 8.2.
    """
    if _FIGURES.fullmatch(text):
        return Agency.GS1 if text.isascii() and is_gtin_14(text) else None
    if is_hibc_primary(text):
        return Agency.HIBCC
    return Agency.ICCBBA if is_iccbba_code(text) else None
