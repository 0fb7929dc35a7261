import pytest

from coilwright.advice import DISCLAIMER, Advisory, Status, Urgency


def test_a_number_without_its_unit_is_refused() -> None:
    with pytest.raises(ValueError, match="without its unit"):
        Advisory(
            urgency=Urgency.INFO,
            text="t",
            rule="r",
            source="s",
            status=Status.PUBLISHED,
            value=1.0,
        )


@pytest.mark.parametrize(
    ("text", "rule", "source"), [("", "r", "s"), ("t", "", "s"), ("t", "r", "")]
)
def test_an_advisory_without_text_rule_or_source_is_refused(
    text: str, rule: str, source: str
) -> None:
    with pytest.raises(ValueError, match="needs a text, a rule and a source"):
        Advisory(urgency=Urgency.INFO, status=Status.PUBLISHED, text=text, rule=rule, source=source)


def test_the_disclaimer_says_what_the_review_asks_for() -> None:
    # Practitioner's review, truth and safety 12.
    assert "not approved for clinical use" in DISCLAIMER
    assert "the site is responsible" in DISCLAIMER
