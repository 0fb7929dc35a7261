"""A scan that cannot be used: what is wrong with which part of it, and how to mend it."""

from coilwright.errors import InputError, Problem


class ScanProblem(InputError):
    """A scan cannot be read to a device; nothing of it may be booked."""

    def __init__(self, field: str, found: str, mend: str) -> None:
        self.problem = Problem(field=field, found=found, mend=mend)
        super().__init__(field, found, mend)

    def __str__(self) -> str:
        return f"{self.problem}."
