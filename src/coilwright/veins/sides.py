"""The side of the body. Never inferred: only ever taken from what somebody stated."""

from enum import StrEnum


class Side(StrEnum):
    """Left or right, the patient's own."""

    LEFT = "left"
    RIGHT = "right"

    @property
    def other(self) -> "Side":
        """The side across."""
        return Side.RIGHT if self is Side.LEFT else Side.LEFT
