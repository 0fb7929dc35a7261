"""The rows of a protocol file as they stand in TOML: checked at the door, then converted."""

from datetime import date
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, model_validator

from coilwright.advice import Status
from coilwright.protocol.limits import Choice, Limit

Words = Annotated[str, StringConstraints(min_length=1, strip_whitespace=True)]
Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
ID_PATTERN = r"^[a-z0-9.]+(-[a-z0-9.]+)*$"
Id = Annotated[str, StringConstraints(pattern=ID_PATTERN)]


class _Row(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class LimitRow(_Row):
    """One ``[limits.<id>]`` table of a data file."""

    value: Number
    unit: Words
    title: Words
    source: Words
    status: Status
    minimum: Number
    maximum: Number
    note: Words | None = None

    def limit(self, id: str) -> Limit:
        return Limit(id=id, **self.model_dump())


class ChoiceRow(_Row):
    """One ``[choices.<id>]`` table of a data file."""

    value: Words
    options: tuple[Words, ...]
    title: Words
    source: Words
    status: Status
    note: Words | None = None

    def choice(self, id: str) -> Choice:
        return Choice(id=id, **self.model_dump())


class _ChangeRow(_Row):
    """What both kinds of overlay row say about a change or a sign-off."""

    source: Words | None = None
    status: Status | None = None
    why: Words | None = None
    changed_by: Words | None = None
    changed_on: date | None = None
    signed_off_by: Words | None = None
    signed_off_on: date | None = None

    @property
    def changes(self) -> bool:
        return not (self.source is None and self.status is None)

    @model_validator(mode="after")
    def _says_who_and_why(self) -> "_ChangeRow":
        if (self.signed_off_by is None) != (self.signed_off_on is None):
            raise ValueError("a sign-off needs both signed_off_by and signed_off_on")
        if self.changes and None in (self.why, self.changed_by, self.changed_on):
            raise ValueError("a change needs why, changed_by and changed_on")
        if self.status is not None and self.source is None:
            raise ValueError("a new status needs the source it rests on: add source")
        if not self.changes and self.signed_off_by is None:
            raise ValueError("changes nothing and signs nothing off: give a value or a sign-off")
        return self


class LimitChangeRow(_ChangeRow):
    """One ``[limits.<id>]`` table of a site's overlay."""

    value: Number | None = None
    unit: Words | None = None

    @property
    def changes(self) -> bool:
        return self.value is not None or super().changes

    @model_validator(mode="after")
    def _value_has_unit(self) -> "LimitChangeRow":
        if self.value is not None and self.unit is None:
            raise ValueError("a value needs its unit: add unit")
        return self


class ChoiceChangeRow(_ChangeRow):
    """One ``[choices.<id>]`` table of a site's overlay."""

    value: Words | None = None

    @property
    def changes(self) -> bool:
        return self.value is not None or super().changes


class ProtocolFile(_Row):
    """A data file of the package."""

    version: Words
    limits: dict[Id, LimitRow] = {}
    choices: dict[Id, ChoiceRow] = {}


class OverlayFile(_Row):
    """A site's overlay."""

    version: Words = "unversioned"
    name: Words | None = None
    limits: dict[Id, LimitChangeRow] = {}
    choices: dict[Id, ChoiceChangeRow] = {}
