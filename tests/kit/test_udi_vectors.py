"""The published UDI vectors of the open data: each right one read, each wrong one refused."""

import json
from datetime import date

import pytest

from check_data import check_data
from coilwright.kit.udi import Agency, StatedDate, Udi
from coilwright.kit.udi_problem import ScanProblem
from coilwright.kit.udi_scan import read_udi

TODAY = date(2026, 11, 25)

# Published examples whose check digit or character is wrong, with what belongs there: by hand for
# the first (weights 3 and 1 over 9986331344431 sum to 128), CLINICAL.md 8.2 for the second.
WRONG = {
    "uscore-udi2-gs1-BADCHECK": r"GTIN \(01\): .* ends in the check digit 6 where 2 belongs",
    "fhir-udi3-hibcc-BADCHECK": "check character: it ends in 'C' where 'H' belongs",
}
# Fields of the vectors that carry no answers, read off their text: HL7 v2.8.2 PRT-10 for the
# first; structure ids as in FDA, UDI formats by issuing agency, v1.3. Day 032 is 1 February.
READ_OFF = {
    "iccbba-hctp": {
        "di": "A9999XYZ100T0944",
        "lot": "000000000000XYZ123",
        "serial": "000025",
        "expiry": "2014-02-01",
        "manufactured": "2013-02-01",
    },
    "iccbba-bloodbag": {"di": "1TE123456A", "lot": "RZ12345678"},
    "hibcc-modulo-1": {"di": "E20831269", "expiry": "2023-04", "lot": "286539"},
}


def vectors() -> list[dict[str, object]]:
    text = check_data("udi", "udi_vectors.json").read_text(encoding="utf-8")
    return [dict(vector) for vector in json.loads(text)]


def scan_of(vector: dict[str, object]) -> str:
    return str(vector.get("hrf") or vector["element_string"])


def is_wrong(vector: dict[str, object]) -> bool:
    return vector.get("gtin_check_digit_valid") is False or vector.get("mod43_valid") is False


def expected_di(vector: dict[str, object]) -> str | None:
    if "gtin" in vector:
        return str(vector["gtin"])
    if "pcn" in vector:
        return f"{vector['lic']}{vector['pcn']}{vector['uom']}"
    return None


def as_vectors_write_it(stated: StatedDate | None) -> str | None:
    return None if stated is None else str(stated).replace(" hour ", "T")


def as_year_and_day(stated: StatedDate | None) -> str:
    assert stated is not None
    return stated.last_day.strftime("%y%j")


def disagreements(vector: dict[str, object], udi: Udi) -> list[str]:
    facts = vector | READ_OFF.get(str(vector["id"]), {})
    read = {
        "lot": udi.lot,
        "serial": udi.serial,
        "expiry": as_vectors_write_it(udi.expiry),
        "best_before": as_vectors_write_it(udi.best_before),
        "manufactured": as_vectors_write_it(udi.manufactured),
        "agency": udi.agency.value,
        "di": udi.di,
    }
    stated = {name: facts[name] for name in read if name in facts}
    di = expected_di(facts)
    if di is not None:
        stated["di"] = di
    wrong = [
        f"{name}: {read[name]} for {stated[name]}" for name in stated if read[name] != stated[name]
    ]
    if "expiry_julian" in facts and as_year_and_day(udi.expiry) != facts["expiry_julian"]:
        wrong.append(f"expiry: {udi.expiry} for {facts['expiry_julian']}")
    return wrong


def test_every_right_vector_is_read_to_its_fields() -> None:
    right = [vector for vector in vectors() if not is_wrong(vector)]
    assert len(right) == 12
    found = {str(v["id"]): disagreements(v, read_udi(scan_of(v), today=TODAY)) for v in right}
    assert found == {name: [] for name in found}


def test_a_field_that_no_right_vector_states_is_not_invented() -> None:
    stated_nowhere = {"gs1-demo": ("serial",), "biip-gs1": ("serial", "expiry", "manufactured")}
    for vector in vectors():
        for name in stated_nowhere.get(str(vector["id"]), ()):
            assert getattr(read_udi(scan_of(vector), today=TODAY), name) is None


def test_every_wrong_vector_is_refused_with_its_reason() -> None:
    wrong = [vector for vector in vectors() if is_wrong(vector)]
    assert {str(vector["id"]) for vector in wrong} == set(WRONG)
    for vector in wrong:
        with pytest.raises(ScanProblem, match=WRONG[str(vector["id"])]):
            read_udi(scan_of(vector), today=TODAY)


def test_the_vectors_are_of_all_three_agencies() -> None:
    assert {str(vector["agency"]) for vector in vectors()} == {agency.value for agency in Agency}
