"""The department's limits and choices as data: value, unit, source, status, sign-off."""

from coilwright.protocol.basis import (
    COMMON_PRACTICE,
    UNSIGNED,
    Basis,
    Citation,
    advise,
    louder,
    weakest,
)
from coilwright.protocol.changes import LocalChange, choices_followed, local_changes
from coilwright.protocol.limits import Choice, Limit, Override
from coilwright.protocol.loading import load_protocol
from coilwright.protocol.protocol import Protocol, UnknownLimit

__all__ = [
    "COMMON_PRACTICE",
    "UNSIGNED",
    "Basis",
    "Choice",
    "Citation",
    "Limit",
    "LocalChange",
    "Override",
    "Protocol",
    "UnknownLimit",
    "advise",
    "choices_followed",
    "load_protocol",
    "local_changes",
    "louder",
    "weakest",
]
