"""Sign-out of a case: every pack that was opened is implanted, wasted or back on the shelf."""

from collections.abc import Sequence

from coilwright.advice import Advisory, Urgency
from coilwright.protocol import COMMON_PRACTICE, advise
from coilwright.record.shelf import CaseUse, Shelf

SIGN_OUT_RULE = "shelf-sign-out"


def sign_out(shelf: Shelf, case: str) -> tuple[Advisory, ...]:
    """A stop for thought for each batch that does not add up; one line of info where all do.

    Opened = implanted + wasted + returned, for each batch by itself: a pack without a lot does not
    stand in for one with a lot.

    References
    ----------
    Common practice, no source: counts agree before the patient leaves the room.
    """
    return sign_out_of([use for use in shelf.case_uses if use.case == case], case)


def sign_out_of(uses: Sequence[CaseUse], case: str) -> tuple[Advisory, ...]:
    """The same of what a case took, as its own stream tells it."""
    if not uses:
        return (_nothing_opened(case),)
    amiss = [_amiss(use) for use in uses if use.unaccounted]
    return tuple(amiss) or (_all_accounted_for(case, uses),)


def _amiss(use: CaseUse) -> Advisory:
    ends = f"implanted {use.implanted}, wasted {use.wasted}, returned {use.returned}"
    if use.unaccounted > 0:
        is_are = "is" if use.unaccounted == 1 else "are"
        text = f"opened {use.opened}, {ends}: {use.unaccounted} {is_are} not accounted for"
    elif use.opened:
        text = f"opened {use.opened}, {ends}: {-use.unaccounted} more than was opened"
    else:
        text = f"{ends}, but none was opened: {-use.unaccounted} more than was opened"
    return _advisory(
        Urgency.STOP_AND_THINK, f"{use.pack}: {text}.", use.case, (use,), pack=str(use.pack)
    )


def _all_accounted_for(case: str, uses: Sequence[CaseUse]) -> Advisory:
    told = ", ".join(f"{word} {count}" for word, count in _sums(uses).items())
    return _advisory(Urgency.INFO, f"Every pack is accounted for: {told}.", case, uses)


def _nothing_opened(case: str) -> Advisory:
    text = "No device is recorded as opened in this case."
    return _advisory(Urgency.INFO, text, case, (), missing=("devices opened",))


def _advisory(
    urgency: Urgency,
    text: str,
    case: str,
    uses: Sequence[CaseUse],
    *,
    pack: str | None = None,
    missing: tuple[str, ...] = (),
) -> Advisory:
    counts = {word: str(count) for word, count in _sums(uses).items()} if not missing else {}
    return advise(
        rule=SIGN_OUT_RULE,
        urgency=urgency,
        text=text,
        basis=(COMMON_PRACTICE,),
        inputs={"case": case} | ({} if pack is None else {"pack": pack}) | counts,
        missing=missing,
    )


def _sums(uses: Sequence[CaseUse]) -> dict[str, int]:
    words = ("opened", "implanted", "wasted", "returned")
    return {word: sum(getattr(use, word) for use in uses) for word in words}
