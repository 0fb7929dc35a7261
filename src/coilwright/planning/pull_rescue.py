"""The rescue kit of a pull-list: a snare, and the sheath that a captured coil needs."""

from coilwright.advice import Advisory, Urgency
from coilwright.kit import Device, Sheath
from coilwright.kit.pair_fit import LABELS
from coilwright.planning.pull_lines import PullRole, Purpose, Rescue, RescueVerdict
from coilwright.planning.pull_rescue_parts import NOT_ASKED, Found
from coilwright.planning.pull_rescue_search import RescueSearch
from coilwright.planning.pull_tray import Tray, Want
from coilwright.planning.pull_way import WayIn
from coilwright.protocol import COMMON_PRACTICE, Citation, Protocol, advise, louder

RULE = "rescue-kit"
REACH = "Whether it reaches where a coil may travel to is not told here."


def find_rescue(way: WayIn, tray: Tray, protocol: Protocol) -> Rescue:
    """The best rescue kit of the shelf, or what is missing for one."""
    best = RescueSearch(way, tray, protocol).best()
    if best is None:
        lacking = "a snare, and with it what tells the sheath that a captured coil needs"
        return _rescue(None, way, (lacking,), RescueVerdict.NOT_THERE)
    lacking_words = tuple(text for part in best.parts for text in part.lacking)
    verdicts = (RescueVerdict.THERE, RescueVerdict.CANNOT_BE_TOLD, RescueVerdict.NOT_THERE)
    return _rescue(best, way, lacking_words, verdicts[best.grade])


def ask_rescue(rescue: Rescue, tray: Tray) -> None:
    """Put its devices on the list, but for what already lies there for another purpose."""
    asked = (
        (rescue.snare, Purpose.SNARE, "Takes hold of a coil that has gone astray."),
        (rescue.through, Purpose.SNARE_CATHETER, "The snare runs through it by its label."),
        (rescue.sheath, Purpose.CAPTURE_SHEATH, _sheath_words(rescue)),
        (rescue.wire, Purpose.EXCHANGE_WIRE, "The sheath in place is changed over it."),
    )
    for device_id, purpose, why in asked:
        if device_id is not None and not tray.listed(device_id):
            tray.ask(
                Want(
                    role=PullRole.RESCUE,
                    purpose=purpose,
                    device=device_id,
                    name=tray.devices[device_id].name,
                    why=why,
                    rule=RULE,
                    basis=COMMON_PRACTICE if purpose is Purpose.SNARE else LABELS,
                )
            )


def advise_rescue(rescue: Rescue) -> Advisory:
    """What the rescue kit is, or a stop for thought that names what is missing.

    Where it rests on a limit from memory that is not signed off, it is at least a caution.
    """
    urgency = {
        RescueVerdict.THERE: Urgency.INFO,
        RescueVerdict.CANNOT_BE_TOLD: Urgency.CAUTION,
        RescueVerdict.NOT_THERE: Urgency.STOP_AND_THINK,
    }[rescue.verdict]
    if not all(pair.limit_stands for pair in rescue.pairs):
        urgency = louder(urgency, Urgency.CAUTION)
    pairs = [Citation(source=pair.source, status=pair.status) for pair in rescue.pairs]
    return advise(
        rule=RULE,
        urgency=urgency,
        text=rescue.text,
        basis=(COMMON_PRACTICE, *(pairs or [LABELS])),
        missing=rescue.missing,
    )


def _sheath_words(rescue: Rescue) -> str:
    words = "Takes the snare out with its catch."
    if rescue.larger_sheath:
        words += " Larger than the sheath in place: changed over a wire."
    return words


def _rescue(
    found: Found | None, way: WayIn, missing: tuple[str, ...], verdict: RescueVerdict
) -> Rescue:
    """Where a part is not there, the snare alone is named: the rest is no kit without it."""
    whole = found is not None and verdict is not RescueVerdict.NOT_THERE
    parts = found.parts if found is not None and whole else (NOT_ASKED, NOT_ASKED, NOT_ASKED)
    through, sheath, wire = (part.device for part in parts)
    place = way.sheath
    return Rescue(
        verdict=verdict,
        snare=None if found is None else found.snare.id,
        through=None if through is None else through.id,
        sheath=None if sheath is None else sheath.id,
        sheath_in_place=None if place is None else place.id,
        larger_sheath=_larger(sheath, place),
        wire=None if wire is None else wire.id,
        pairs=tuple(pair for part in parts for pair in part.pairs),
        missing=missing,
        text=_words(found, way, missing, verdict),
    )


def _larger(sheath: Device | None, place: Sheath | None) -> bool | None:
    if not isinstance(sheath, Sheath) or place is None:
        return None
    if sheath.id == place.id:
        return False
    if sheath.accepts_fr is None or place.accepts_fr is None:
        return None
    return sheath.accepts_fr > place.accepts_fr


def _words(
    found: Found | None, way: WayIn, missing: tuple[str, ...], verdict: RescueVerdict
) -> str:
    if found is None or verdict is RescueVerdict.NOT_THERE:
        return f"No rescue kit on the shelf; missing: {'; '.join(missing)}."
    through, sheath, wire = (part.device for part in found.parts)
    words = [f"Rescue: {found.snare.name}"]
    words += [f"through {through.name}"] if through is not None else []
    if isinstance(sheath, Sheath):
        words.append(f"out through {sheath.name}{_place_words(sheath, way.sheath)}")
    words += [f"exchanged over {wire.name}"] if wire is not None else []
    unsigned = any(not pair.limit_stands for part in found.parts for pair in part.pairs)
    caution = " Partly by limits from memory, not signed off." if unsigned else ""
    unread = f" Not shown to pass: {'; '.join(missing)}." if missing else ""
    return f"{', '.join(words)}. {REACH}{unread}{caution}"


def _place_words(sheath: Sheath, place: Sheath | None) -> str:
    if place is None:
        return ""
    if sheath.id == place.id:
        return " (already in place)"
    larger = _larger(sheath, place)
    return f" ({'larger than' if larger else 'instead of'} {place.name}, which is in place)"
