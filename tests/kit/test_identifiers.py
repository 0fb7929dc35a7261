"""Device identifiers against the published examples of their agencies."""

import pytest

from coilwright.kit import is_device_identifier


@pytest.mark.parametrize(
    "di",
    [
        # FDA, UDI formats by issuing agency, v1.3 (2017): GS1, HIBCC and ICCBBA examples.
        "51022222233336",
        "H123PARTNO1234567890120",
        "A9999XYZ100T0479",
        # HL7 US Core, implantable device example.
        "09504000059118",
        # Code without its flag and check character, of the HIBC vectors in CLINICAL.md 8.2.
        "A123ABCDEFGHI1234567891",
        "X999123ABC0",
    ],
)
def test_published_identifiers_of_each_agency_are_taken(di: str) -> None:
    assert is_device_identifier(di)


@pytest.mark.parametrize(
    "di",
    [
        "51022222233337",  # the check digit is 6
        "6291041500213",  # a right GTIN-13: a UDI-DI is written in fourteen figures
        "A12",  # FDA v1.3: six characters or more
        "h123partno1",
        "+A123BJC5D6E71G",  # flag and check character belong to the code, not to the identifier
        "1234567890",
        "५१०२२२२२२३३३३६",  # figures of another script
        "alder coil 8 mm",
        "",
    ],
)
def test_what_is_no_identifier_is_refused(di: str) -> None:
    assert not is_device_identifier(di)
