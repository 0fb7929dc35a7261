"""The frames that a header names as the mask of its run."""

from dataclasses import dataclass

from pydicom.dataset import Dataset

from coilwright.venogram.functional_groups import items_of, numbers, words


@dataclass(frozen=True, slots=True, kw_only=True)
class HeaderMask:
    """``frames`` from 0, empty where ``unusable`` says why the header's words cannot be used."""

    frames: tuple[int, ...] = ()
    unusable: str | None = None


def header_mask(dataset: Dataset, frames: int) -> HeaderMask | None:
    """What the header says of the mask of a run of ``frames`` frames; None where it names none.

    A mask that the header names is a wish for showing the run: whether contrast is in it is for
    the pixels to tell.

    References
    ----------
    Mask Subtraction Sequence (0028,6100), with Mask Operation and Mask Frame Numbers that count
    from 1: PS3.3 C.7.6.10. AVG_SUB subtracts the average of the mask frames; TID and REV_TID
    subtract a frame some frames away, so that only change is shown.
    """
    items = [item for item in items_of(dataset, "MaskSubtractionSequence") if _operation(item)]
    averaged = [item for item in items if _operation(item) == "AVG_SUB"]
    if not averaged:
        if any(_operation(item) in {"TID", "REV_TID"} for item in items):
            return HeaderMask(unusable="it asks for the change from frame to frame, which is none")
        return None
    named = {_named(item) for item in averaged}
    if len(named) > 1:
        return HeaderMask(unusable="it names other masks for other parts of the run")
    return _checked(named.pop(), frames)


def _operation(item: Dataset) -> str:
    return next(iter(words(item.get("MaskOperation"))), "")


def _named(item: Dataset) -> tuple[float | None, ...]:
    return tuple(numbers(item.get("MaskFrameNumbers")))


def _checked(named: tuple[float | None, ...], frames: int) -> HeaderMask | None:
    if not named:
        return None
    whole = [int(n) for n in named if n is not None and n == int(n) and 1 <= n <= frames]
    if len(whole) != len(named):
        return HeaderMask(unusable=f"it names a frame that is none of the {frames}")
    return HeaderMask(frames=tuple(sorted({n - 1 for n in whole})))
