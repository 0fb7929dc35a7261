"""What a backup holds, said so that a cut or rewritten record shows beside it."""

import hashlib
from dataclasses import dataclass
from datetime import datetime

from coilwright.record import canonical_json
from coilwright.store.heads import StreamHead


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """Every stream's count and head hash at the moment of the backup, by the stream's name."""

    made_at: datetime
    heads: tuple[StreamHead, ...]

    @property
    def entries(self) -> int:
        """How many entries all streams hold together."""
        return sum(head.entries for head in self.heads)

    @property
    def sha256(self) -> str:
        """The digest of all heads: a line to keep where whoever alters the record cannot reach.

        SHA-256 over the canonical JSON of ``[[stream, entries, head hash], ...]``.
        """
        heads = [[head.stream, head.entries, head.head_hash] for head in self.heads]
        return hashlib.sha256(canonical_json(heads).encode("utf-8")).hexdigest()
