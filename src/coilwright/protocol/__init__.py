"""The department's limits and choices as data: value, unit, source, status, sign-off."""

from coilwright.protocol.basis import COMMON_PRACTICE, Basis, Citation, advise, louder, weakest
from coilwright.protocol.limits import Choice, Limit, Override
from coilwright.protocol.loading import load_protocol
from coilwright.protocol.protocol import Protocol, UnknownLimit

__all__ = [
    "COMMON_PRACTICE",
    "Basis",
    "Choice",
    "Citation",
    "Limit",
    "Override",
    "Protocol",
    "UnknownLimit",
    "advise",
    "load_protocol",
    "louder",
    "weakest",
]
