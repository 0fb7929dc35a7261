"""Where the count made by people and the count of the entries differ at sign-out."""

from dataclasses import dataclass

from coilwright.record.room import Room


@dataclass(frozen=True, slots=True, kw_only=True)
class CountDiffers:
    """One thing that people counted otherwise than the entries add up to."""

    what: str
    counted: int
    recorded: int


def counted_otherwise(room: Room) -> tuple[CountDiffers, ...] | None:
    """Every difference; null where nobody has counted, which is no agreement.

    Coils on the last stored image are held against the coils in place; where nobody counted them
    nothing is said of them.

    References
    ----------
    Common practice, no source: counts agree before the patient leaves the room.
    """
    if room.sign_out is None:
        return None
    pairs = [
        (word, getattr(room.sign_out, word), getattr(room.device_totals, word))
        for word in ("opened", "implanted", "wasted", "returned")
    ]
    seen = room.sign_out.coils_on_last_image
    if seen is not None:
        pairs.append(("coils on the last image", seen, len(room.coils_in_place)))
    return tuple(
        CountDiffers(what=what, counted=counted, recorded=recorded)
        for what, counted, recorded in pairs
        if counted != recorded
    )
