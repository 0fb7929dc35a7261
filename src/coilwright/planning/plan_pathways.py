"""Which pathways of the network the plan's levels leave open, and which veins are not reached."""

from collections.abc import Iterator, Sequence

from coilwright.advice import Advisory, Status, Urgency
from coilwright.planning.catheter_reach import closable
from coilwright.planning.least_closure import LeastClosure
from coilwright.planning.network_words import listed, places
from coilwright.planning.open_pathways import open_pathways
from coilwright.planning.pathways_left import PathwaysLeft
from coilwright.planning.plan import Level
from coilwright.planning.plan_network import NoNetwork, PlanNetwork
from coilwright.planning.technique_veins import NO_PATHWAY, open_words, zone_of
from coilwright.protocol import COMMON_PRACTICE, Citation, advise

FROM_THE_NETWORK = Citation(
    source="computed from the network of the vein map and the operator's marks",
    status=Status.COMPUTED,
)
NOT_THE_PLAN = (
    "The least is not the plan: recurrence comes from veins that nobody saw. Advised are a distal "
    "level and one or more upper levels, or sclerosant between."
)
SCLEROSANT_REACHES = "Sclerosant can close what a coil cannot reach."


def levels_leave_open(network: PlanNetwork, levels: Sequence[Level]) -> PathwaysLeft:
    """The pathways left once every level is shut over its whole stretch."""
    closed = _closed(network, levels)
    still_open = open_pathways(network.network, closed)
    reached = {vein.id for vein in closable(network.network)}
    return PathwaysLeft(
        closed=tuple(sorted(closed)),
        open_pathways=still_open.paths,
        open_pathways_cut_short=still_open.cut_short,
        not_reached=tuple(
            sorted(v.id for v in network.network.veins if v.may_occlude and v.id not in reached)
        ),
        places=places(network),
        text=open_words(network, still_open.paths, cut_short=still_open.cut_short)
        if network.shows_a_pathway
        else NO_PATHWAY,
    )


def advise_no_network(found: NoNetwork) -> Advisory:
    """That pathways are not worked out, why, and what would allow it."""
    return advise(
        rule="pathways-not-worked-out",
        urgency=Urgency.CAUTION,
        text=(
            f"Reflux pathways are not worked out: {found.why}. The levels alone do not show that "
            "every pathway is shut."
        ),
        basis=(FROM_THE_NETWORK,),
        missing=found.missing,
    )


def advise_pathways(
    network: PlanNetwork, least: LeastClosure, pathways: PathwaysLeft, levels: Sequence[Level]
) -> Iterator[Advisory]:
    """Every advisory of the plan's network."""
    yield _least(least)
    if levels:
        yield _left_open(pathways)
    yield from _protected(network, levels)
    if pathways.not_reached:
        yield _not_reached(network, pathways)


def _closed(network: PlanNetwork, levels: Sequence[Level]) -> frozenset[str]:
    pieces = (network.pieces_in(zone_of(level)) for level in levels)
    return network.may_close(id for some in pieces for id in some)


def _least(least: LeastClosure) -> Advisory:
    """How few places would do is told, not which: a list of them would read like a plan."""
    number = len(least.occlude)
    if not least.complete:
        found = "no set of veins that the catheter reaches shuts every pathway that was seen"
    elif not number:
        found = "the network shows no pathway from above to below, so how blood runs is not shown"
    else:
        places = "place" if number == 1 else "places"
        found = f"{number} {places} would shut every pathway that was seen"
    return advise(
        rule="least-closure",
        urgency=Urgency.INFO if least.complete and number else Urgency.CAUTION,
        text=f"The least that must be shut: {found}. {NOT_THE_PLAN}",
        basis=(FROM_THE_NETWORK, COMMON_PRACTICE),
    )


def _left_open(pathways: PathwaysLeft) -> Advisory:
    is_open = bool(pathways.open_pathways) or pathways.text == NO_PATHWAY
    more = f" {SCLEROSANT_REACHES}" if is_open else ""
    return advise(
        rule="levels-leave-open",
        urgency=Urgency.STOP_AND_THINK if is_open else Urgency.INFO,
        text=f"With every level shut: {pathways.text}{more}",
        basis=(FROM_THE_NETWORK,),
    )


def _protected(network: PlanNetwork, levels: Sequence[Level]) -> Iterator[Advisory]:
    for level in levels:
        pieces = network.pieces_in(zone_of(level))
        stays = pieces - network.may_close(pieces)
        if stays:
            yield advise(
                rule="level-on-protected-vein",
                urgency=Urgency.STOP_AND_THINK,
                text=(
                    f"{level.name.capitalize()} level: it lies on {listed(network, stays)}, marked "
                    "as a vein that must stay open."
                ),
                basis=(FROM_THE_NETWORK,),
            )


def _not_reached(network: PlanNetwork, pathways: PathwaysLeft) -> Advisory:
    width_mm = network.network.catheter.outer_diameter_mm
    return advise(
        rule="veins-not-reached",
        urgency=Urgency.CAUTION,
        text=(
            f"Not reached or not entered by the smallest device ({width_mm:.2f} mm), judged by "
            f"relaxed calibre: {listed(network, pathways.not_reached)}. {SCLEROSANT_REACHES}"
        ),
        basis=(FROM_THE_NETWORK, COMMON_PRACTICE),
        inputs={"smallest device": f"{width_mm:.2f} mm"},
    )
