"""The protocol as the package ships it, and the rule of limits from memory."""

import datetime as dt

import pytest

from coilwright.advice import Status, Urgency
from coilwright.errors import CoilwrightError
from coilwright.protocol import (
    COMMON_PRACTICE,
    Citation,
    Limit,
    UnknownLimit,
    advise,
    load_protocol,
    weakest,
)

PROTOCOL = load_protocol()


def from_memory(signed: bool) -> Limit:
    return Limit(
        id="invented-limit",
        value=10.0,
        unit="mL",
        title="An invented limit",
        source="an invented book",
        status=Status.FROM_MEMORY,
        minimum=1.0,
        maximum=20.0,
        signed_off_by="Dr Invented" if signed else None,
        signed_off_on=dt.date(2026, 1, 5) if signed else None,
    )


@pytest.mark.parametrize(
    ("id", "value", "unit", "status"),
    [
        # CLINICAL.md 5.1, table, US label [V] and BNF [V2]
        ("lidocaine-us-plain-per-kg", 4.5, "mg/kg", Status.PUBLISHED),
        ("lidocaine-us-plain-maximum", 300.0, "mg", Status.PUBLISHED),
        ("lidocaine-us-adrenaline-per-kg", 7.0, "mg/kg", Status.PUBLISHED),
        ("lidocaine-us-adrenaline-maximum", 500.0, "mg", Status.PUBLISHED),
        ("lidocaine-bnf-plain-maximum", 200.0, "mg", Status.RESTATED),
        ("lidocaine-bnf-adrenaline-maximum", 500.0, "mg", Status.RESTATED),
        # CLINICAL.md 5.2 [M]
        ("schwartz-bedside-coefficient", 0.413, None, Status.FROM_MEMORY),
        # CLINICAL.md 5.3, ACR and NKF [V], Cigarroa [V], iodine over kidney function [V]
        ("egfr-prophylaxis-below", 30.0, "mL/min/1.73m2", Status.PUBLISHED),
        ("egfr-discretion-below", 45.0, "mL/min/1.73m2", Status.PUBLISHED),
        ("cigarroa-factor", 5.0, None, Status.PUBLISHED),
        ("cigarroa-maximum", 300.0, "mL", Status.PUBLISHED),
        ("iodine-per-egfr-korean", 1.42, None, Status.PUBLISHED),
        ("contrast-volume-egfr-laskey", 3.7, None, Status.FROM_MEMORY),
        # CLINICAL.md 4.3 [V]
        ("sts-us-session-maximum", 10.0, "mL", Status.PUBLISHED),
        ("polidocanol-per-kg-day", 2.0, "mg/kg", Status.PUBLISHED),
        ("polidocanol-foam-session-maximum", 10.0, "mL", Status.PUBLISHED),
        # CLINICAL.md 6.1: air kerma [V2], the other two [M]
        ("radiation-air-kerma-follow-up", 5.0, "Gy", Status.RESTATED),
        ("radiation-kap-follow-up", 500.0, "Gy.cm2", Status.FROM_MEMORY),
        ("radiation-fluoroscopy-time-notification", 30.0, "min", Status.FROM_MEMORY),
        # CLINICAL.md 5.4 [V]
        ("inr-low-risk-upper", 3.0, "1", Status.PUBLISHED),
        ("platelets-low-risk", 20.0, "10^9/L", Status.PUBLISHED),
        # CLINICAL.md section 10 [V]
        ("renocaval-gradient-compression-above", 3.0, "mmHg", Status.PUBLISHED),
        # CLINICAL.md 1.3 [V]
        ("testis-asymmetry-percent", 20.0, "%", Status.PUBLISHED),
    ],
)
def test_shipped_limit_is_the_one_of_its_source(
    id: str, value: float, unit: str | None, status: Status
) -> None:
    limit = PROTOCOL.limit(id)
    assert (limit.value, limit.status) == (value, status)
    assert unit is None or limit.unit == unit


@pytest.mark.parametrize(
    ("edition", "values"),
    [
        # CLINICAL.md section 2: volume, concentration, total number, total and progressive
        # motility, vitality, normal forms
        ("who-2021", (1.4, 16, 39, 42, 30, 54, 4)),
        ("who-2010", (1.5, 15, 39, 40, 32, 58, 4)),
    ],
)
def test_semen_limits_are_those_of_the_edition(edition: str, values: tuple[float, ...]) -> None:
    names = (
        "volume",
        "concentration",
        "total-number",
        "total-motility",
        "progressive-motility",
        "vitality",
        "normal-forms",
    )
    assert tuple(PROTOCOL.limit(f"{edition}-{name}").value for name in names) == values


def test_every_limit_and_choice_says_what_it_is_and_where_from() -> None:
    everything = list(PROTOCOL)
    assert len({item.id for item in everything}) == len(everything)
    assert all(item.title and item.source and item.status for item in everything)


def test_unknown_id_is_an_error_of_our_tree_and_a_key_error() -> None:
    with pytest.raises(UnknownLimit, match="the protocol holds no limit no-such-limit") as caught:
        PROTOCOL.limit("no-such-limit")
    assert isinstance(caught.value, CoilwrightError)
    assert isinstance(caught.value, KeyError)
    with pytest.raises(UnknownLimit, match="the protocol holds no choice no-such-choice"):
        PROTOCOL.choice("no-such-choice")


def test_protocol_cannot_be_changed_once_loaded() -> None:
    with pytest.raises(TypeError, match="does not support item assignment"):
        PROTOCOL.limits["cigarroa-factor"] = from_memory(signed=False)  # type: ignore[index]


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"value": 21.0}, "outside its sanity bounds"),
        ({"value": float("nan")}, "must be finite"),
        ({"unit": "furlong"}, "is not a unit that limits are given in"),
        ({"source": ""}, "needs an id, a title and a source"),
    ],
)
def test_limit_is_valid_once_it_exists(change: dict[str, object], sentence: str) -> None:
    fields: dict[str, object] = {
        "id": "invented-limit",
        "value": 10.0,
        "unit": "mL",
        "title": "An invented limit",
        "source": "an invented book",
        "status": Status.PUBLISHED,
        "minimum": 1.0,
        "maximum": 20.0,
    }
    with pytest.raises(ValueError, match=sentence):
        Limit(**(fields | change))  # type: ignore[arg-type]  # wrong on purpose


def test_unsigned_limit_from_memory_never_looks_satisfied() -> None:
    # REVIEW.md, Truth and safety, 12.
    advisory = advise(
        rule="r", urgency=Urgency.INFO, text="Well below.", basis=(from_memory(signed=False),)
    )
    assert advisory.urgency is Urgency.CAUTION
    assert advisory.text.endswith("Limit from memory, not signed off by the site: check.")
    assert advisory.status is Status.FROM_MEMORY


def test_unsigned_limit_from_memory_never_quietens_a_louder_advisory() -> None:
    advisory = advise(
        rule="r",
        urgency=Urgency.STOP_AND_THINK,
        text="Above.",
        basis=(from_memory(signed=False),),
    )
    assert advisory.urgency is Urgency.STOP_AND_THINK


def test_signed_limit_from_memory_speaks_normally_and_names_who_signed() -> None:
    advisory = advise(
        rule="r", urgency=Urgency.INFO, text="Well below.", basis=(from_memory(signed=True),)
    )
    assert (advisory.urgency, advisory.text) == (Urgency.INFO, "Well below.")
    assert (advisory.signed_off_by, advisory.signed_off_on) == ("Dr Invented", dt.date(2026, 1, 5))
    assert advisory.status is Status.FROM_MEMORY


def test_one_signature_does_not_cover_another_unsigned_limit() -> None:
    basis = (from_memory(signed=True), from_memory(signed=False))
    advisory = advise(rule="r", urgency=Urgency.INFO, text="Well below.", basis=basis)
    assert advisory.signed_off_by is None
    assert advisory.urgency is Urgency.CAUTION


def test_advisory_is_no_surer_than_the_weakest_thing_under_it() -> None:
    book = Citation(source="an invented book", status=Status.PUBLISHED)
    advisory = advise(rule="r", urgency=Urgency.INFO, text="t", basis=(book, COMMON_PRACTICE, book))
    assert advisory.status is Status.COMMON_PRACTICE
    assert advisory.source == "an invented book; common practice, no source"
    assert weakest((Status.PUBLISHED, Status.RESTATED)) is Status.RESTATED
