"""A warning that travels with a measurement."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """A stable ``code`` for programs and one sentence for people."""

    code: str
    text: str
