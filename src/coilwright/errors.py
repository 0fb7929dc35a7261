"""The error tree: what a person can mend, and what is our fault.

CoilwrightError
└── InputError          the input needs mending; exit status 2
    ├── FileProblem     a file cannot be used: names the file, the field and the mend
    ├── CaseProblem     a case file holds a value that cannot be used
    └── and one beside each part that refuses an input of its own: an option, an edit, a scan,
        a device that the kit does not hold, runs that share nothing

Anything else that escapes is a fault of the program: exit status 1.
"""

from dataclasses import dataclass
from pathlib import Path

EXIT_DONE = 0
EXIT_OUR_FAULT = 1
EXIT_MEND_INPUT = 2


class CoilwrightError(Exception):
    """The root of every error that the program raises on purpose."""


class InputError(CoilwrightError):
    """Something that was handed in needs mending."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """What is wrong with one field, and how to mend it.

    ``field`` is in the words of the file: an attribute name for DICOM, a dotted key for TOML.
    """

    field: str
    found: str
    mend: str

    def __str__(self) -> str:
        return f"{self.field}: {self.found}; {self.mend}"


class FileProblem(InputError):
    """A file cannot be used."""

    def __init__(self, file: Path, problem: Problem) -> None:
        self.file, self.problem = file, problem
        super().__init__(file, problem)

    def __str__(self) -> str:
        return f"{self.file.name or self.file}: {self.problem}."


class CaseProblem(InputError):
    """A case file holds one or more values that cannot be used."""

    def __init__(self, file: Path, problems: tuple[Problem, ...]) -> None:
        self.file, self.problems = file, problems
        super().__init__(file, problems)

    def __str__(self) -> str:
        return "\n".join(f"{self.file.name}: {problem}." for problem in self.problems)
