"""The Chiou score: widest vein, plexus and flow on Valsalva, 0 to 3 points each.

The published bands (2.5 to 2.9 mm and so on) are read as continuous: each runs up to the next.
"""

from dataclasses import dataclass

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.cut_offs import at_least
from coilwright.assessment.facts import Facts
from coilwright.assessment.findings import Ultrasound
from coilwright.assessment.reflux import reflux_contradiction, reflux_lasts_s
from coilwright.assessment.ultrasound_veins import VEIN_KEYS, measured_sides, widest_vein
from coilwright.protocol import Limit, Protocol, advise
from coilwright.veins import Side

CHIOU_RULE = "chiou-score"
_DIAMETER = ("chiou-diameter-1-point", "chiou-diameter-2-points", "chiou-diameter-3-points")
_PLEXUS = ("chiou-plexus-2-points", "chiou-plexus-3-points")
_FLOW = ("chiou-flow-1-point", "chiou-flow-2-points", "chiou-flow-3-points")
_MOST = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """One part of the score: the fewest and the most points that the recorded answers allow."""

    name: str
    fewest: int
    most: int
    reads: str
    missing: tuple[str, ...] = ()
    contradiction: str | None = None

    @property
    def points(self) -> str:
        few = str(self.fewest)
        return f"{few if self.fewest == self.most else f'{few} to {self.most}'} of {_MOST} points"


def chiou_components(exam: Ultrasound, protocol: Protocol) -> tuple[Component, ...]:
    """Diameter, plexus and flow of one ultrasound."""
    return (_diameter(exam, protocol), _plexus(exam, protocol), _flow(exam, protocol))


def chiou_says_varicocele(exam: Ultrasound, protocol: Protocol) -> bool | None:
    """The score's verdict, or None where the missing points could still turn it."""
    components = chiou_components(exam, protocol)
    return _verdict(components, protocol.limit("chiou-varicocele-from"))


def chiou_score(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """The score of each side that ultrasound looked at, or the range still possible."""
    return tuple(_of_side(side, exam, protocol) for side, exam in measured_sides(facts))


def chiou_limits(protocol: Protocol) -> tuple[Limit, ...]:
    """Every number that the score rests on."""
    ids = (*_DIAMETER, *_PLEXUS, *_FLOW, "chiou-flow-shortest", "chiou-varicocele-from")
    return tuple(protocol.limit(id) for id in ids)


def _verdict(components: tuple[Component, ...], cut: Limit) -> bool | None:
    if at_least(sum(part.fewest for part in components), cut.value):
        return True
    return None if at_least(sum(part.most for part in components), cut.value) else False


def _points(value: float, ids: tuple[str, ...], protocol: Protocol) -> int:
    return sum(at_least(value, protocol.limit(id).value) for id in ids)


def _diameter(exam: Ultrasound, protocol: Protocol) -> Component:
    widest, name = widest_vein(exam), "widest vein"
    if widest is None:
        return Component(name=name, fewest=0, most=_MOST, reads="not recorded", missing=VEIN_KEYS)
    points = _points(widest.width_mm, _DIAMETER, protocol)
    reads = f"{widest.width_mm:g} mm ({widest.condition})"
    return Component(name=name, fewest=points, most=points, reads=reads)


def _plexus(exam: Ultrasound, protocol: Protocol) -> Component:
    name, seen, sum_mm = "plexus", exam.plexus_seen, exam.plexus_sum_mm
    if sum_mm is not None and seen is (sum_mm == 0.0):
        return Component(
            name=name,
            fewest=0,
            most=_MOST,
            reads=f"seen: {'yes' if seen else 'no'}, sum {sum_mm:g} mm",
            contradiction="whether a plexus was seen, and its sum of diameters",
        )
    if seen is False or sum_mm == 0.0:
        return Component(name=name, fewest=0, most=0, reads="none seen")
    if sum_mm is not None:
        points = 1 + _points(sum_mm, _PLEXUS, protocol)
        return Component(name=name, fewest=points, most=points, reads=f"sum {sum_mm:g} mm")
    missing = ("ultrasound.plexus_sum",) if seen else ("ultrasound.plexus_seen",)
    reads = "seen, sum not recorded" if seen else "not recorded"
    return Component(name=name, fewest=1 if seen else 0, most=_MOST, reads=reads, missing=missing)


def _flow(exam: Ultrasound, protocol: Protocol) -> Component:
    """Too short a reflux gives no point whatever its speed, and too slow whatever its length."""
    name, change = "flow on Valsalva", exam.valsalva_flow_change_cm_per_s
    lasts_s, contradiction = reflux_lasts_s(exam), reflux_contradiction(exam)
    reads = ", ".join(
        (
            "change not recorded" if change is None else f"change {change:g} cm/s",
            "duration not recorded" if lasts_s is None else f"for {lasts_s:g} s",
        )
    )
    most = _MOST if change is None else _points(change, _FLOW, protocol)
    if lasts_s is None:
        fewest = 0
    elif not at_least(lasts_s, protocol.limit("chiou-flow-shortest").value):
        fewest = most = 0
    else:
        fewest = 0 if change is None else most
    missing = [] if change is not None or most == 0 else ["ultrasound.valsalva_flow_change"]
    if lasts_s is None and contradiction is None and most > 0:
        missing.append("ultrasound.reflux_duration")
    return Component(
        name=name,
        fewest=fewest,
        most=most,
        reads=reads,
        missing=tuple(missing),
        contradiction=contradiction,
    )


def _of_side(side: Side, exam: Ultrasound, protocol: Protocol) -> Advisory:
    components = chiou_components(exam, protocol)
    cut = protocol.limit("chiou-varicocele-from")
    low, high = sum(part.fewest for part in components), sum(part.most for part in components)
    contradictions = [part.contradiction for part in components if part.contradiction]
    odd = f"Contradictory: {'; '.join(contradictions)}." if contradictions else ""
    missing = tuple(key for part in components for key in part.missing)
    absent = f"Not recorded: {', '.join(missing)}." if missing else ""
    words = (
        f"{side.value.capitalize()}: Chiou score {_total_words(low, high)}; "
        f"{_verdict_words(_verdict(components, cut), low == high, cut)}",
        _width_words(exam),
        odd,
        absent,
    )
    return advise(
        rule=CHIOU_RULE,
        urgency=Urgency.CAUTION if contradictions else Urgency.INFO,
        text=" ".join(filter(None, words)),
        basis=chiou_limits(protocol),
        value=float(low) if low == high else None,
        between=None if low == high else (float(low), float(high)),
        limit=cut.value,
        unit=cut.unit,
        inputs={
            "side": side.value,
            **{part.name: f"{part.reads}: {part.points}" for part in components},
        },
        missing=missing,
    )


def _total_words(low: int, high: int) -> str:
    return f"{low} of 9" if low == high else f"{low} to {high} of 9"


def _verdict_words(verdict: bool | None, complete: bool, cut: Limit) -> str:
    if verdict is None:
        return f"open whether it reaches {cut.value:g}, its line for a varicocele."
    settled = "" if complete else ", whatever is missing"
    where = "at or above" if verdict else "below"
    return f"{where} {cut.value:g}, its line for a varicocele{settled}."


def _width_words(exam: Ultrasound) -> str:
    widest = widest_vein(exam)
    if widest is None:
        return ""
    return f"The widest recorded vein is used: {widest.width_mm:g} mm ({widest.condition})."
