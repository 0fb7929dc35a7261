"""Lengths of one route that cannot all be right: each is said, none is put right here."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from coilwright.advice import Advisory, Urgency
from coilwright.planning.route import Access, LengthFrom, RouteSegment, RouteTarget
from coilwright.planning.route_length import total
from coilwright.planning.route_measured import whole_segment
from coilwright.planning.route_segments import (
    ON_THE_RUN,
    ON_THE_TABLE,
    RouteBench,
    parts_to_ostium,
    segment_to_level,
    segments_to_ostium,
)
from coilwright.protocol import Basis, Limit, advise

RULE = "route-lengths-disagree"


def table_against_run(bench: RouteBench) -> Iterator[Advisory]:
    """A projected length is a lower bound: a shorter one from the table contradicts it."""
    unmeasured = replace(bench, measured_mm={})
    for level in bench.levels:
        target = RouteTarget(level.name)
        typed = segment_to_level(target, level, bench)
        seen = segment_to_level(target, level, unmeasured)
        if typed is None or seen is None or typed.where_from is not LengthFrom.TABLE:
            continue
        high_mm = typed.length.high_mm
        if high_mm is not None and high_mm < seen.length.low_mm:
            yield _disagree(
                f"{typed.title}: {typed.text}, yet the run shows at least "
                f"{seen.length.low_mm / 10:.1f} cm.",
                {"on the table": typed.text, "on the run": seen.text},
                (ON_THE_TABLE, ON_THE_RUN, *_limits(bench, "route-length-cover")),
            )


def whole_against_parts(access: Access, bench: RouteBench) -> Iterator[Advisory]:
    """The way to the ostium measured whole, against what is known of its parts."""
    if whole_segment(access) not in bench.measured_mm:
        return
    (whole,) = segments_to_ostium(access, bench)
    known = [part for part in parts_to_ostium(access, bench) if part.length.known]
    every = total(part.length for part in parts_to_ostium(access, bench))
    too_short = whole.length.high_mm is not None and whole.length.high_mm < every.low_mm
    too_long = every.high_mm is not None and whole.length.low_mm > every.high_mm
    if too_short or too_long:
        yield _disagree(
            f"{whole.title}: {whole.text}, yet its parts come to {every.words_cm()}.",
            {part.title: part.text for part in (whole, *known)},
            (ON_THE_TABLE, *_limits(bench, *_behind_parts(known))),
        )


def _behind_parts(known: list[RouteSegment]) -> tuple[str, ...]:
    if any(part.where_from is LengthFrom.PUBLISHED for part in known):
        return ("neck-depth-sd", "route-length-cover")
    return ()


def _limits(bench: RouteBench, *ids: str) -> list[Limit]:
    return [bench.protocol.limit(id) for id in ("measured-length-error", *ids)]


def _disagree(text: str, inputs: Mapping[str, str], basis: tuple[Basis, ...]) -> Advisory:
    return advise(
        rule=RULE,
        urgency=Urgency.CAUTION,
        text=f"{text} One of them is wrong: check both.",
        basis=basis,
        inputs=inputs,
        judges=False,
    )
