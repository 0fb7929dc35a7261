"""The limits in force, in words: whose they are, what is followed, what the site changed."""

from coilwright.documents.page import Line
from coilwright.protocol import LocalChange, Protocol, choices_followed, local_changes

THE_SITES_OWN = "The site's own"


def limit_lines(protocol: Protocol) -> tuple[Line, ...]:
    """The limits' name, each answer followed where sources disagree, each change of the site."""
    return (
        Line(label="Limits", text=f"{protocol.name} ({protocol.version})"),
        *(
            Line(label=question, text=answer)
            for question, answer in choices_followed(protocol).items()
        ),
        *(Line(label=THE_SITES_OWN, text=change_words(c)) for c in local_changes(protocol)),
    )


def change_words(change: LocalChange) -> str:
    """What the site changed or signed off, with who, why and when."""
    parts = [f"{change.title} ({change.id}): {change.value}"]
    if change.value_before is not None:
        parts.append(
            f"before {change.value_before}; {change.why} ({change.changed_by}, {change.changed_on})"
        )
    if change.signed_off_by is not None:
        parts.append(f"signed off by {change.signed_off_by} on {change.signed_off_on}")
    return "; ".join(parts)
