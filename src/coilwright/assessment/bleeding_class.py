"""The class of bleeding risk that the site puts the procedure in; an analogy either way."""

from coilwright.protocol import Protocol

HIGH = "high"
LOW_BY_ANALOGY = (
    "By analogy: the consensus does not name gonadal vein embolisation; low risk as venous "
    "interventions of pelvis and extremities are."
)
HIGH_BY_ANALOGY = (
    "By analogy: the consensus does not name gonadal vein embolisation; the site counts it as high "
    "risk, as another body's list does with complex venous interventions."
)


def is_high_risk(protocol: Protocol) -> bool:
    """Whether the site counts the procedure as one of high bleeding risk."""
    return protocol.choice("bleeding-risk-class").value == HIGH


def by_analogy(protocol: Protocol) -> str:
    """The sentence that belongs to every statement made from the class."""
    return HIGH_BY_ANALOGY if is_high_risk(protocol) else LOW_BY_ANALOGY
