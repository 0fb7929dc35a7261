"""Which veins of the plan's network each technique shuts, by rules that are told in words."""

from collections.abc import Sequence
from dataclasses import dataclass

from coilwright.planning.catheter_reach import closable, reached_mm
from coilwright.planning.landing_zones import Stretch
from coilwright.planning.network_words import listed, pathway_words
from coilwright.planning.open_pathways import open_pathways
from coilwright.planning.plan import Level, LevelName
from coilwright.planning.plan_network import NoNetwork, PlanNetwork
from coilwright.planning.technique_goods import placed_at
from coilwright.planning.technique_table import Closure, Technique
from coilwright.veins.vein_network import NetworkVein, joined_to

COIL_RULE_TEXT = (
    "Every level that has a coil or plug to place first and that the catheter reaches shuts its "
    "own stretch of the trunk."
)
BETWEEN_RULE_TEXT = (
    "The distal and the upper level shut their stretches as with coils alone; sclerosant is taken "
    "to shut the trunk between them and, as far as their next mouth, the veins that join there. A "
    "middle level is left out: sclerosant lies there."
)
ALONE_RULE_TEXT = (
    "Sclerosant is taken to shut the trunk from the catheter's tip (not nearer to the ostium than "
    "an upper level) down to the compressed ring (not below the superior ramus) and, as far as "
    "their next mouth, the veins that join there."
)
ADHESIVE_RULE_TEXT = (
    "What adhesive would shut is not worked out: it runs as far as it is let to set."
)
NO_PATHWAY = (
    "The network shows no pathway before anything is closed: how blood runs down is not shown."
)
SHOWN_PATHS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Shut:
    """The veins that a technique shuts, and what a person has to know of how far that holds.

    ``known`` is false where the technique cannot be worked out on this map.
    """

    veins: frozenset[str]
    known: bool
    against: tuple[str, ...]


def zone_of(level: Level) -> Stretch:
    """The stretch of the trunk that a level's nest is kept to."""
    return Stretch(from_mm=level.zone.from_mm, to_mm=level.zone.to_mm)


def between(levels: Sequence[Level]) -> Stretch | None:
    """The trunk between the upper and the distal level; null without both."""
    by_name = {level.name: level.zone for level in levels}
    upper, distal = by_name.get(LevelName.UPPER), by_name.get(LevelName.DISTAL)
    if upper is None or distal is None or distal.from_mm <= upper.to_mm:
        return None
    return Stretch(from_mm=upper.to_mm, to_mm=distal.from_mm)


def shut_by_coils(network: PlanNetwork, levels: Sequence[Level]) -> Shut:
    """The stretches of the levels that can have a coil or plug placed in them."""
    veins: set[str] = set()
    against = [] if levels else ["no level was worked out"]
    can_close = {vein.id for vein in closable(network.network)}
    for level in levels:
        pieces = network.pieces_in(zone_of(level))
        if placed_at(level) is None:
            against.append(f"{level.name} level: nothing of the kit can be placed first")
        elif pieces - network.may_close(pieces):
            against.append(f"{level.name} level: it lies on a vein marked to stay open")
        elif not pieces & can_close:
            against.append(f"{level.name} level: the catheter is not shown to reach or enter it")
        else:
            veins |= pieces
    return Shut(veins=frozenset(veins), known=bool(levels), against=tuple(against))


def shut_between(network: PlanNetwork, levels: Sequence[Level]) -> Shut:
    """Coils at the distal and the upper level, sclerosant between."""
    stretch = between(levels)
    if stretch is None:
        why = "a distal and an upper level are needed, with vein between them"
        return Shut(veins=frozenset(), known=False, against=(why,))
    ends = [level for level in levels if level.name is not LevelName.MIDDLE]
    coils = shut_by_coils(network, ends)
    filled = shut_by_sclerosant(network, stretch, barred=coils.veins)
    return Shut(
        veins=coils.veins | filled.veins, known=True, against=(*coils.against, *filled.against)
    )


def shut_by_sclerosant(
    network: PlanNetwork, stretch: Stretch, barred: frozenset[str] = frozenset()
) -> Shut:
    """The trunk of a stretch and the veins that join it there, those left out that must not.

    ``barred`` are veins that a coil has shut before: nothing runs through them. A vein that leads
    back to where blood enters is not counted as shut, for nothing keeps sclerosant in it.
    """
    pieces = network.pieces_in(stretch)
    trunk = [network.vein(piece) for piece in pieces]
    points = {end for vein in trunk for end in (vein.from_point, vein.to_point)}
    if not points & set(reached_mm(network.network)):
        why = "the catheter is not shown to reach the vein that is to be filled"
        return Shut(veins=frozenset(), known=True, against=(why,))
    joining = [
        vein
        for vein in network.network.veins
        if vein.id not in network.trunk_arcs_mm and {vein.from_point, vein.to_point} & points
    ]
    filled = {v.id for v in (*trunk, *joining)}
    still_open = [v for v in network.network.veins if v.id not in filled | barred]
    above = joined_to(network.network.inflows, still_open)
    upward = [v for v in joining if _far_end(v, points) & above]
    off_trunk = [v for v in still_open if v.id not in network.trunk_arcs_mm]
    below = joined_to(network.network.outflows, off_trunk) - _on_trunk(network)
    downward = [v for v in joining if _far_end(v, points) & below]
    kept_open = [v for v in (*trunk, *joining) if not v.may_occlude]
    shut = {v.id for v in (*trunk, *joining) if v.may_occlude and v not in upward}
    against = []
    if kept_open:
        names = listed(network, (v.id for v in kept_open))
        against.append(f"sclerosant could enter {names}, marked to stay open")
    if upward:
        names = listed(network, (v.id for v in upward))
        against.append(f"sclerosant could run through {names} to where blood enters")
    if downward:
        names = listed(network, (v.id for v in downward))
        against.append(
            f"sclerosant could run through {names} to an outflow that compression at the ring does "
            "not bar"
        )
    return Shut(veins=frozenset(shut), known=True, against=tuple(against))


def closure_of(
    technique: Technique, network: PlanNetwork | NoNetwork, shut: Shut | None
) -> Closure:
    """What the technique shuts of the network, and which pathways it leaves open."""
    rule_text = _RULE_TEXTS[technique]
    if isinstance(network, NoNetwork):
        text = f"Not worked out: {network.why}."
        return _unknown(rule_text, text)
    if shut is None:
        return _unknown(rule_text, "Not worked out.")
    if not shut.known:
        return _unknown(rule_text, f"Not worked out: {'; '.join(shut.against)}.")
    if not network.shows_a_pathway:
        return _unknown(rule_text, NO_PATHWAY)
    still_open = open_pathways(network.network, shut.veins)
    return Closure(
        shuts=tuple(sorted(shut.veins)),
        rule_text=rule_text,
        complete=not still_open.paths,
        open_pathways=still_open.paths,
        text=open_words(network, still_open.paths, cut_short=still_open.cut_short),
    )


def open_words(
    network: PlanNetwork, paths: Sequence[tuple[str, ...]], *, cut_short: bool = False
) -> str:
    """Which pathways stay open, the first few by their places."""
    if not paths:
        return "No pathway that the network shows stays open; veins that nobody saw are not in it."
    shown = "; ".join(pathway_words(network, path) for path in paths[:SHOWN_PATHS])
    count = f"{'More than ' if cut_short else ''}{len(paths)}"
    more = f" and {len(paths) - SHOWN_PATHS} more" if len(paths) > SHOWN_PATHS else ""
    noun = "pathway stays" if len(paths) == 1 and not cut_short else "pathways stay"
    return f"{count} {noun} open: {shown}{more}."


def _on_trunk(network: PlanNetwork) -> set[str]:
    trunk = [network.vein(piece) for piece in network.trunk_arcs_mm]
    return {end for vein in trunk for end in (vein.from_point, vein.to_point)}


def _far_end(vein: NetworkVein, points: set[str]) -> set[str]:
    return {vein.from_point, vein.to_point} - points


def _unknown(rule_text: str, text: str) -> Closure:
    return Closure(shuts=(), rule_text=rule_text, complete=None, open_pathways=(), text=text)


_RULE_TEXTS = {
    Technique.COILS_ALONE: COIL_RULE_TEXT,
    Technique.COILS_AND_SCLEROSANT: BETWEEN_RULE_TEXT,
    Technique.SCLEROSANT_ALONE: ALONE_RULE_TEXT,
    Technique.LIQUID_ADHESIVE: ADHESIVE_RULE_TEXT,
}
