"""What has to be settled before levels are worked out, and what is said where they are not.

REVIEW: side and identity must agree, and the plan is blocked on a mismatch; planning stops for
thought while the gonadal vein may be the kidney's way out; the ovarian vein has no rules yet.
"""

from collections.abc import Iterable, Sequence

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment import Sex
from coilwright.assessment.identity_gate import IDENTITY_RULE
from coilwright.assessment.renal_vein import RENAL_VEIN_RULE
from coilwright.assessment.side_gate import SIDE_RULE, side_words
from coilwright.documents.stated_sides import stated_sides
from coilwright.planning import OcclusionPlan
from coilwright.planning.coil_ranking import ORDER_RULE
from coilwright.planning.plan_advice import calibration_summary
from coilwright.protocol import COMMON_PRACTICE, Citation, advise
from coilwright.record import Case
from coilwright.veins import VeinMap
from coilwright.workflow.measure_case import LeftOut

MAP_SIDE_RULE = "map-side-agreement"
OVARIAN_RULE = "ovarian-vein-locked"
FROM_THE_CASE = Citation(source="computed from the case", status=Status.COMPUTED)


def side_of_map(case: Case, vein_map: VeinMap) -> tuple[Advisory, ...]:
    """A stop where the map's side is not the one that the case states; else nothing."""
    stated = stated_sides(case, None)
    differ = [who for who, sides in stated.items() if vein_map.side not in sides]
    if vein_map.side is None or not differ:
        return ()
    said = ", ".join(f"{who} {side_words(stated[who])}" for who in differ)
    return (
        advise(
            rule=MAP_SIDE_RULE,
            urgency=Urgency.STOP_AND_THINK,
            text=f"The vein map is of the {vein_map.side.value} side, but {said}.",
            basis=(COMMON_PRACTICE,),
            inputs={who: side_words(sides) for who, sides in stated.items()},
        ),
    )


def runs_left_out(case: Case, left_out: Sequence[LeftOut]) -> tuple[Advisory, ...]:
    """A caution that some of several runs are not on the map, each with its reason."""
    if not left_out:
        return ()
    count = len(case.runs)
    reasons = "; ".join(_reason(one) for one in left_out)
    return (
        advise(
            rule="runs-not-on-map",
            urgency=Urgency.CAUTION,
            text=f"{count} runs are named, {len(left_out)} not on the map: {reasons}. Veins that "
            "show on these alone are not on the map.",
            basis=(FROM_THE_CASE,),
            value=float(count - len(left_out)),
            limit=float(count),
            unit="count",
        ),
    )


def _reason(left_out: LeftOut) -> str:
    why = left_out.why.rstrip(".")
    return why if why.startswith(left_out.file.name) else f"{left_out.file.name}: {why}"


def kit_not_named(case: Case) -> tuple[Advisory, ...]:
    """A caution that no coil can be chosen without a kit."""
    if case.kit_file is not None:
        return ()
    return (
        advise(
            rule="kit-missing",
            urgency=Urgency.CAUTION,
            text="No kit is named: no coil can be ranked and no delivery checked.",
            basis=(FROM_THE_CASE,),
            missing=("kit.file",),
        ),
    )


def sex_not_recorded(case: Case) -> tuple[Advisory, ...]:
    """A caution that everything here is for the testicular vein."""
    if case.patient.sex is not None:
        return ()
    return (
        advise(
            rule="sex-missing",
            urgency=Urgency.CAUTION,
            text="Sex is not recorded and not guessed: this plan is for the testicular vein alone; "
            "the ovarian vein has no rules here.",
            basis=(COMMON_PRACTICE,),
            missing=("patient.sex",),
        ),
    )


def held_back(case: Case, advisories: Iterable[Advisory]) -> tuple[str, ...]:
    """Why no level may be worked out yet, in words; empty where nothing stands in the way."""
    advisories = tuple(advisories)
    stops = [a for a in advisories if a.urgency is Urgency.STOP_AND_THINK]
    reasons = []
    if any(a.rule in (SIDE_RULE, MAP_SIDE_RULE) for a in stops):
        reasons.append("the sides do not agree: settle which side it is")
    if any(a.rule == IDENTITY_RULE for a in stops):
        reasons.append("a paper of the case names another patient: settle whose it is")
    if any(
        a.rule == RENAL_VEIN_RULE and "conditions.renal_vein.gradient" in a.missing for a in stops
    ):
        reasons.append(
            "the vein may be the kidney's way out: record the pull-back gradient or the imaging"
        )
    if case.patient.sex is Sex.FEMALE:
        reasons.append("the ovarian vein has no rules of its own here yet")
    return tuple(reasons)


def plan_held_back(
    vein_map: VeinMap, advisories: Sequence[Advisory], holds: Sequence[str]
) -> OcclusionPlan:
    """A plan without levels that says why there are none."""
    held = advise(
        rule="plan-held-back",
        urgency=Urgency.STOP_AND_THINK,
        text=f"No level is worked out: {'; '.join(holds)}.",
        basis=(COMMON_PRACTICE,),
    )
    return _without_levels((*advisories, held), vein_map)


def plan_without_run(advisories: Sequence[Advisory]) -> OcclusionPlan:
    """The safety advisories alone, and that no run has arrived."""
    absent = advise(
        rule="run-not-arrived",
        urgency=Urgency.CAUTION,
        text="No run has arrived: nothing was measured, and no level is worked out. What the case "
        "alone can tell stands here.",
        basis=(FROM_THE_CASE,),
        missing=("a run of the vein (runs)",),
    )
    return _without_levels((*advisories, absent), None)


def _without_levels(advisories: tuple[Advisory, ...], vein_map: VeinMap | None) -> OcclusionPlan:
    missing = [item for advisory in advisories for item in advisory.missing]
    return OcclusionPlan(
        side=None if vein_map is None else vein_map.side,
        levels=(),
        order_rule=ORDER_RULE,
        sclerosant=None,
        least_closure=None,
        advisories=advisories,
        assumptions=(),
        missing=tuple(dict.fromkeys(missing)),
        vein_map_calibration=None if vein_map is None else calibration_summary(vein_map),
    )
