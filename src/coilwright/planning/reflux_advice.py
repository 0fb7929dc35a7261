"""What has to be said beside a comparison of what options might leave."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from coilwright.advice import Advisory, Status, Urgency
from coilwright.planning.hydrostatic_head import BLOOD_LIMITS, PRESSURE_LIMITS, Column
from coilwright.planning.look_here import LookHere
from coilwright.planning.residual_band import BAND_EDGES, BANDS, NOT_VALIDATED
from coilwright.planning.unseen_channels import PRIOR_LIMITS
from coilwright.protocol import Citation, Limit, Protocol, advise

BANDS_RULE = "residual-reflux-bands"
UNSEEN_RULE = "residual-reflux-unseen"
LAMINAR_RULE = "residual-reflux-laminar"
COLUMN_RULE = "residual-reflux-column"
NO_WAY_RULE = "residual-reflux-no-way"

MODEL = Citation(
    source="Poiseuille's law for each vein (Springer chapter Hemodynamic principles)",
    status=Status.PUBLISHED,
)
OUR_BANDS = Citation(
    source="this program's own bands, validated by nobody", status=Status.FROM_MEMORY
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RefluxFindings:
    """What the draws showed, as far as it needs words.

    ``upward_share`` is the share of draws in which the pressures drive blood up, not down;
    ``nothing_runs`` where no way joins inflow and outflow before anything is closed.
    """

    column: Column
    draws: int
    scale_relative_sd: float
    beyond_laminar: tuple[str, ...]
    upward_share: float
    nothing_runs: bool
    look_here: Mapping[str, tuple[LookHere, ...]]


def advise_reflux(findings: RefluxFindings, protocol: Protocol) -> Iterator[Advisory]:
    """Every advisory of a comparison."""
    yield _bands(findings)
    if findings.nothing_runs:
        yield _no_way()
    yield _unseen(findings, protocol)
    if findings.beyond_laminar:
        yield _laminar(findings, protocol)
    if findings.upward_share > 0.0 or findings.column.projected:
        yield _column(findings, protocol)


def _bands(findings: RefluxFindings) -> Advisory:
    edges = " and ".join(f"{100 * edge:.0f} %" for edge in BAND_EDGES)
    return advise(
        rule=BANDS_RULE,
        urgency=Urgency.INFO,
        text=(
            "What an option might leave is told in bands for comparing options: "
            f"{'; '.join(BANDS)} (edges at none, {edges} of what ran before). These "
            f"{NOT_VALIDATED}; no result and no reason to stop. That a closed vein may open "
            "again is left out: no published figure was found. Veins are taken at their relaxed "
            "calibre where it is known."
        ),
        basis=(MODEL, OUR_BANDS),
        inputs={
            "draws": str(findings.draws),
            "scale, common to all veins": f"+- {100 * findings.scale_relative_sd:.1f} %",
        },
    )


def _no_way() -> Advisory:
    return advise(
        rule=NO_WAY_RULE,
        urgency=Urgency.STOP_AND_THINK,
        text=(
            "The network shows no way from inflow to outflow before anything is closed: how blood "
            "runs down is not shown. Nothing that an option leaves says anything here."
        ),
        basis=(MODEL,),
        missing=("a way from an inflow to an outflow (injection at the renal vein, Valsalva)",),
    )


def _unseen(findings: RefluxFindings, protocol: Protocol) -> Advisory:
    limits = [protocol.limit(id) for id in PRIOR_LIMITS]
    first = [
        f"{option}: {places[0].text}" for option, places in findings.look_here.items() if places
    ]
    return advise(
        rule=UNSEEN_RULE,
        urgency=Urgency.CAUTION,
        text=(
            "Recurrence comes from veins that nobody saw. How many, where and how wide is assumed "
            f"here, not measured. {' '.join(first)}".rstrip()
        ),
        basis=limits,
        inputs=_read_out(limits),
        judges=False,
    )


def _laminar(findings: RefluxFindings, protocol: Protocol) -> Advisory:
    limits = [protocol.limit(id) for id in (*BLOOD_LIMITS, *PRESSURE_LIMITS[1:])]
    names = ", ".join(findings.beyond_laminar)
    return advise(
        rule=LAMINAR_RULE,
        urgency=Urgency.CAUTION,
        text=(
            f"The laminar model does not hold in {names}, before closure or after it: by these "
            "pressures blood would run there too fast. The model then overstates that flow; where "
            "it is the flow before closure, more may be left in proportion than the bands say."
        ),
        basis=limits,
        limit=protocol.limit("laminar-reynolds-max").value,
        unit="1",
        inputs=_read_out(limits),
        judges=False,
    )


def _column(findings: RefluxFindings, protocol: Protocol) -> Advisory:
    limits = [protocol.limit(id) for id in PRESSURE_LIMITS]
    column = findings.column
    texts = []
    if findings.upward_share > 0.0:
        texts.append(
            f"In {100 * findings.upward_share:.0f} % of the draws these pressures and this tilt "
            "drive blood up, not down: the bands then speak of the ways that are open, not of flow."
        )
    if column.projected:
        texts.append(
            "The column's length is projected on the picture: the true one is at least that long, "
            "and the pressure at its foot at least as high."
        )
    return advise(
        rule=COLUMN_RULE,
        urgency=Urgency.INFO,
        text=" ".join(texts),
        basis=limits,
        inputs={
            "column": f"{column.length_mm:.0f} +- {column.length_sd_mm:.0f} mm",
            "tilt": f"{column.tilt_deg:.0f} degrees from lying flat",
            **_read_out(limits),
        },
        judges=False,
    )


def _read_out(limits: Iterable[Limit]) -> dict[str, str]:
    """Each limit by its title, with its unit where it has one to speak of."""
    plain = ("1", "count")
    return {
        limit.title: f"{limit.value:g}" + ("" if limit.unit in plain else f" {limit.unit}")
        for limit in limits
    }
