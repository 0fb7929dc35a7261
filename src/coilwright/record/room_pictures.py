"""Maps as the record knows them: by name and hash, never by content."""

import re
from dataclasses import dataclass

from coilwright.record.stated import ImpossibleFact, need_uid, need_words

_SHA256 = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True, kw_only=True)
class DocumentReference:
    """A document that is kept elsewhere: its file name, and the SHA-256 of its bytes in hex.

    The hash is what binds it to the record; the name, without a folder, is for people.
    """

    name: str
    sha256: str

    def __post_init__(self) -> None:
        need_words("name", self.name)
        if "/" in self.name or "\\" in self.name:
            raise ImpossibleFact("name", "no plain file name", "leave the folder out")
        if not _SHA256.fullmatch(self.sha256):
            mend = "give the SHA-256 of the file, 64 figures in small letters"
            raise ImpossibleFact("sha256", "no SHA-256", mend)


@dataclass(frozen=True, slots=True, kw_only=True)
class MapMeasured:
    """A vein map was measured from these runs (SOP Instance UIDs, in the map's order)."""

    map: DocumentReference
    runs: tuple[str, ...]

    def __post_init__(self) -> None:
        if not self.runs:
            raise ImpossibleFact("runs", "empty", "name the runs that it was measured from")
        for uid in self.runs:
            need_uid("runs", uid)


@dataclass(frozen=True, slots=True, kw_only=True)
class MapEdited:
    """A person changed a vein map; both stay, and ``edits`` is the list of what was changed."""

    map: DocumentReference
    edited_from: DocumentReference
    why: str
    edits: DocumentReference | None = None

    def __post_init__(self) -> None:
        need_words("why", self.why)
        if self.map.sha256 == self.edited_from.sha256:
            raise ImpossibleFact("map", "the same as edited_from", "name the map after the edits")
