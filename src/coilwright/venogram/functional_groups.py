"""What a header states, at its top or in the functional groups of an enhanced object."""

from collections.abc import Iterator

from pydicom.dataset import Dataset
from pydicom.sequence import Sequence

SHARED, PER_FRAME = "SharedFunctionalGroupsSequence", "PerFrameFunctionalGroupsSequence"


def stated(dataset: Dataset, keyword: str) -> object | None:
    """The attribute itself, else that of the shared groups, else that of the first frame.

    References
    ----------
    Multi-frame Functional Groups Module: PS3.3 C.7.6.16.
    """
    value: object = dataset.get(keyword)
    if not _empty(value):
        return value
    for groups in (SHARED, PER_FRAME):
        for group in items_of(dataset, groups)[:1]:
            value = next(_within(group, keyword), None)
            if value is not None:
                return value
    return None


def stated_per_frame(dataset: Dataset, keyword: str) -> list[object | None]:
    """The attribute of each frame's own groups, null where a frame does not state it."""
    return [next(_within(group, keyword), None) for group in items_of(dataset, PER_FRAME)]


def number(value: object) -> float | None:
    """A finite number, or None for what is absent, empty or no number."""
    try:
        found = float(str(value))
    except ValueError:
        return None
    return found if abs(found) < float("inf") else None


def positive(value: object) -> float | None:
    """A finite number above zero, or None."""
    found = number(value)
    return found if found is not None and found > 0 else None


def numbers(value: object) -> list[float | None]:
    """The values of an attribute of any multiplicity, null items where one is no number."""
    if _empty(value):
        return []
    if isinstance(value, str | int | float):
        return [number(value)]
    return [number(item) for item in value]  # type: ignore[attr-defined]  # a DICOM multi-value


def words(value: object) -> tuple[str, ...]:
    """The values of a text attribute of any multiplicity, in capitals."""
    if _empty(value):
        return ()
    items = [value] if isinstance(value, str) else list(value)  # type: ignore[call-overload]  # a DICOM multi-value
    return tuple(str(item).strip().upper() for item in items)


def _empty(value: object) -> bool:
    return value is None or (isinstance(value, str) and not value.strip())


def items_of(dataset: Dataset, keyword: str) -> list[Dataset]:
    """The items of a sequence; empty where it is absent, or no sequence at all."""
    value = dataset.get(keyword)
    if not isinstance(value, Sequence):
        return []
    return [item for item in value if isinstance(item, Dataset)]


def _within(group: Dataset, keyword: str) -> Iterator[object]:
    """Values of an attribute in the macros of one functional group."""
    for element in group:
        if element.VR == "SQ" and element.value:
            value = element.value[0].get(keyword)
            if not _empty(value):
                yield value
