"""What became of a coil after it was placed.

A coil is named by the id of the entry that placed it. A coil that was retrieved was not left in the
patient: its pack ends as wasted, so the ``device_implanted`` of that pack is withdrawn and a
``device_wasted`` recorded.
"""

from dataclasses import dataclass
from uuid import UUID

from coilwright.record.stated import need_words


@dataclass(frozen=True, slots=True, kw_only=True)
class CoilMoved:
    """A coil lies elsewhere than it was placed; ``wanted`` is false where it went by itself."""

    coil: UUID
    to: str
    wanted: bool | None = None
    how: str | None = None

    def __post_init__(self) -> None:
        need_words("to", self.to)
        need_words("how", self.how)


@dataclass(frozen=True, slots=True, kw_only=True)
class CoilRetrieved:
    """A coil was taken out again."""

    coil: UUID
    how: str | None = None
    why: str | None = None

    def __post_init__(self) -> None:
        need_words("how", self.how)
        need_words("why", self.why)
