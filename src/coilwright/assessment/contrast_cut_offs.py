"""Contrast volume over kidney function: which cut-off the site picked, and what others say."""

from coilwright.protocol import Limit, Protocol

EXTRAPOLATED = "Extrapolated: from intra-arterial coronary work, not from venography."


def ends_of_range(protocol: Protocol) -> tuple[Limit, Limit]:
    """The lowest and the highest published cut-off."""
    return (
        protocol.limit("contrast-volume-egfr-lowest"),
        protocol.limit("contrast-volume-egfr-highest"),
    )


def disagreement(protocol: Protocol) -> str:
    """How far the published cut-offs lie apart, as a sentence."""
    lowest, highest = ends_of_range(protocol)
    return (
        f"Sources disagree: published cut-offs run from {lowest.value:g} to {highest.value:g} "
        "times the kidney function."
    )


def other_cut_offs(protocol: Protocol) -> str:
    """The cut-offs that the site did not pick, each with how well it is known."""
    chosen = protocol.choice("contrast-volume-egfr-cut-off")
    options = [option for option in chosen.options if option != chosen.value]
    limits = [protocol.limit(f"contrast-volume-egfr-{option}") for option in options]
    return ", ".join(f"{limit.value:g} ({limit.status})" for limit in limits)


def volume_cut_off(protocol: Protocol) -> Limit:
    """The cut-off for volume over kidney function that the site picked."""
    chosen = protocol.choice("contrast-volume-egfr-cut-off").value
    return protocol.limit(f"contrast-volume-egfr-{chosen}")
