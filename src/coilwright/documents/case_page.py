"""The page of one case, built from the folded case, its vein map and its plan."""

from coilwright.advice import Urgency
from coilwright.assessment import Access, SemenSample, Ultrasound
from coilwright.assessment.stated_side import latest_of_side
from coilwright.documents.dose_notes import dose_notes
from coilwright.documents.figures import NOT_RECORDED, amount, capital, day, or_not_recorded
from coilwright.documents.local_limits import limit_lines
from coilwright.documents.page import CasePage, ImplantRow, Line
from coilwright.documents.page_advice import Sources, caution_rows
from coilwright.documents.page_doses import dose_rows
from coilwright.documents.page_head import page_head
from coilwright.documents.page_levels import NO_LEVELS, between_levels, level_rows
from coilwright.documents.page_pull import pull_page
from coilwright.documents.page_routes import route_cards
from coilwright.documents.page_runs import front_lines, notices, run_lines, scale_words
from coilwright.documents.page_stop_rules import stop_rule_lines
from coilwright.documents.page_techniques import techniques_page
from coilwright.documents.page_veins import vein_rows
from coilwright.documents.stated_sides import agreed_sides, stated_sides
from coilwright.documents.straightened_vein import straightened_caption
from coilwright.planning import OcclusionPlan, PullList
from coilwright.protocol import Protocol
from coilwright.record import Case
from coilwright.veins import Side, VeinMap

DRAFT = "DRAFT - not signed"
PICTURE_CAPTION = "Subtracted run with the measured veins over it, coloured by calibre"
LEVELS_SHOWN = "the levels of the plan stand beside the vein by their numbers"
NO_PICTURE = "No run has arrived: nothing was measured and there is no picture."


def case_page(
    case: Case,
    vein_map: VeinMap | None,
    plan: OcclusionPlan,
    pulled: PullList,
    protocol: Protocol,
) -> CasePage:
    """Everything that is said about the case, every figure worded once."""
    sources = Sources(plan.advisories)
    return CasePage(
        title=_title(case, vein_map),
        draft=DRAFT,
        hospital=or_not_recorded(case.hospital.name),
        department=or_not_recorded(case.hospital.department),
        operator=or_not_recorded(case.hospital.operator),
        procedure_date=day(case.procedure.date),
        head=page_head(case, vein_map, plan.advisories),
        indication=or_not_recorded(case.procedure.indication),
        background=_background(case),
        access=access_words(case.access),
        technique=or_not_recorded(case.procedure.technique),
        runs=run_lines(vein_map),
        fronts=front_lines(vein_map),
        scale=scale_words(plan),
        picture_caption=_picture_caption(vein_map, plan),
        straightened_caption=straightened_caption(vein_map),
        veins=vein_rows(vein_map),
        notices=notices(vein_map),
        levels=level_rows(plan),
        no_levels="" if plan.levels else NO_LEVELS,
        order_rule=plan.order_rule,
        between_levels=between_levels(plan),
        techniques=techniques_page(plan),
        routes=route_cards(plan),
        stop_rules=() if plan.stop_rules is None else stop_rule_lines(plan.stop_rules),
        pull_list=pull_page(pulled),
        implants=_implants(case, plan),
        doses=dose_rows(case, plan.advisories, sources),
        dose_notes=dose_notes(case),
        result=or_not_recorded(case.outcome.result),
        haemostasis=or_not_recorded(case.outcome.haemostasis),
        aftercare=case.aftercare.advice or (NOT_RECORDED,),
        follow_up=case.aftercare.follow_up or (NOT_RECORDED,),
        stops=caution_rows(plan.advisories, Urgency.STOP_AND_THINK, sources),
        cautions=caution_rows(plan.advisories, Urgency.CAUTION, sources),
        noted=caution_rows(plan.advisories, Urgency.INFO, sources),
        sources=sources.rows(),
        assumptions=plan.assumptions,
        missing=plan.missing,
        limits=limit_lines(protocol),
        disclaimer=plan.disclaimer,
    )


def access_words(access: Access) -> str:
    """Vein, side and sheath; what nobody recorded is named."""
    side = access.side.value if access.side else f"side {NOT_RECORDED}"
    vein = access.vein if access.vein else f"vein {NOT_RECORDED}"
    sheath = f"sheath {NOT_RECORDED}"
    if access.sheath_fr is not None:
        sheath = f"{access.sheath_fr:g} F sheath"
    return f"{side} {vein}, {sheath}"


def _title(case: Case, vein_map: VeinMap | None) -> str:
    sides = agreed_sides(stated_sides(case, vein_map))
    if len(sides) > 1:
        return "Closure of the gonadal veins of both sides by catheter"
    if not sides:
        return "Closure of the gonadal vein by catheter (side not agreed)"
    return f"Closure of the {sides[0].value} gonadal vein by catheter"


def _picture_caption(vein_map: VeinMap | None, plan: OcclusionPlan) -> str:
    if vein_map is None:
        return NO_PICTURE
    return f"{PICTURE_CAPTION}; {LEVELS_SHOWN}." if plan.levels else f"{PICTURE_CAPTION}."


def _background(case: Case) -> tuple[Line, ...]:
    referral = case.referral
    reasons = ", ".join(referral.reasons) or f"reasons {NOT_RECORDED}"
    asked = (
        f"{day(referral.date)}, {or_not_recorded(referral.referrer)}: {reasons}; grade as the "
        f"referrer states it: {or_not_recorded(referral.grade_as_stated)}"
    )
    return (
        Line(label="Referral", text=asked),
        Line(label="Ultrasound", text=_ultrasound(case.ultrasound)),
        Line(label="Semen", text=_semen(case.semen)),
    )


def _ultrasound(exams: tuple[Ultrasound, ...]) -> str:
    """The latest exam of each side that was looked at."""
    latest = [latest_of_side(exams, side) for side in Side]
    shown = [exam for exam in latest if exam is not None] or list(exams[-1:])
    return " ".join(_ultrasound_of_side(exam) for exam in shown) or NOT_RECORDED


def _ultrasound_of_side(found: Ultrasound) -> str:
    side = found.side.value if found.side else f"side {NOT_RECORDED}"
    widest = (
        f"{day(found.date)}, {side}: widest vein of the plexus upright with Valsalva "
        f"{amount(found.vein_upright_valsalva_mm, 'mm')}, at rest "
        f"{amount(found.vein_upright_rest_mm, 'mm')}; reflux {amount(found.reflux_s, 's')}."
    )
    return " ".join(filter(None, [widest, found.comment]))


def _semen(samples: tuple[SemenSample, ...]) -> str:
    """The latest sample; how many there are."""
    if not samples:
        return NOT_RECORDED
    dated = [sample for sample in samples if sample.date is not None]
    latest = max(dated, key=lambda s: str(s.date)) if dated else samples[-1]
    million = "million/mL"
    return (
        f"latest of {len(samples)}, {day(latest.date)}: {amount(latest.volume_ml, 'mL')}, "
        f"{amount(latest.concentration_million_per_ml, million)}, total motility "
        f"{amount(latest.total_motility_percent, '%')}, progressive "
        f"{amount(latest.progressive_motility_percent, '%')}"
    )


def _implants(case: Case, plan: OcclusionPlan) -> tuple[ImplantRow, ...]:
    names = {choice.device: choice.name for level in plan.levels for choice in level.choices}
    return tuple(
        ImplantRow(
            level=capital(implant.level),
            device=implant.device,
            name=names.get(implant.device, "not named by the plan"),
            lot=or_not_recorded(implant.lot),
            serial=or_not_recorded(implant.serial),
            udi=or_not_recorded(implant.udi),
            at=or_not_recorded(implant.at),
        )
        for implant in case.implants
    )
