"""The department's protocol: every limit and choice by its id."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from coilwright.errors import CoilwrightError
from coilwright.protocol.limits import Choice, Limit


class UnknownLimit(CoilwrightError, KeyError):
    """The program asked for a limit or choice that no data file holds."""

    def __init__(self, kind: str, id: str) -> None:
        self.kind, self.id = kind, id
        super().__init__(kind, id)

    def __str__(self) -> str:
        return f"the protocol holds no {self.kind} {self.id}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Protocol:
    """All limits and choices that are in force; iteration gives them in order of their ids.

    ``version`` names the version of every data file that went in, the site's overlay included.
    """

    name: str
    version: str
    limits: Mapping[str, Limit] = field(default_factory=dict)
    choices: Mapping[str, Choice] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "limits", MappingProxyType(dict(self.limits)))
        object.__setattr__(self, "choices", MappingProxyType(dict(self.choices)))

    def limit(self, id: str) -> Limit:
        """The limit of this id.

        Raises
        ------
        UnknownLimit
            No data file holds it.
        """
        try:
            return self.limits[id]
        except KeyError:
            raise UnknownLimit("limit", id) from None

    def choice(self, id: str) -> Choice:
        """The choice of this id.

        Raises
        ------
        UnknownLimit
            No data file holds it.
        """
        try:
            return self.choices[id]
        except KeyError:
            raise UnknownLimit("choice", id) from None

    def __iter__(self) -> Iterator[Limit | Choice]:
        everything: dict[str, Limit | Choice] = {**self.limits, **self.choices}
        return iter(everything[id] for id in sorted(everything))
