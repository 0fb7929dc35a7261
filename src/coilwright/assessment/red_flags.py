"""Findings that send one to look at the kidney and the retroperitoneum, or to another diagnosis."""

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.age import age_on_the_day
from coilwright.assessment.answers import said
from coilwright.assessment.facts import Facts
from coilwright.assessment.history import Onset
from coilwright.assessment.stated_side import agreed_sides, other_side_affected, stated_side
from coilwright.protocol import COMMON_PRACTICE, Citation, Protocol, advise
from coilwright.veins import Side

RIGHT_RULE = "red-flag-isolated-right"
ONSET_RULE = "red-flag-new-onset"
SUPINE_RULE = "red-flag-not-emptying-supine"
PAIN_RULE = "red-flag-acute-pain"
UNASKED_RULE = "red-flags-not-recorded"
NONE_RULE = "red-flags-none"

ROBSON = Citation(
    source="Robson J et al., Ultrasound 2012;20:182-191",
    status=Status.PUBLISHED,
)
CLIN_RADIOL = Citation(
    source="Scrotal varicocele, exclude a renal tumour, Clin Radiol 2006;61:593-599",
    status=Status.PUBLISHED,
)
SUPINE = Citation(
    source="Review of varicocele in adolescents (online textbook chapter), examination",
    status=Status.PUBLISHED,
)
LOOK = "Worth doing next: imaging of kidneys, renal veins and retroperitoneum before the procedure"


def red_flags(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Each red flag that is recorded, and one line for those that nobody has recorded."""
    raised = [
        *_isolated_right(facts, protocol),
        *_new_onset(facts, protocol),
        *_not_emptying(facts),
        *_acute_pain(facts),
    ]
    missing = _unasked(facts)
    if missing:
        raised.append(
            advise(
                rule=UNASKED_RULE,
                urgency=Urgency.CAUTION,
                text=f"Red flags that nobody has recorded: {', '.join(missing)}.",
                basis=(ROBSON, CLIN_RADIOL),
                missing=missing,
            )
        )
    elif not raised:
        raised.append(
            advise(
                rule=NONE_RULE,
                urgency=Urgency.INFO,
                text="No red flag is recorded: not isolated on the right, not new in an older man, "
                "empties lying down, no acute pain.",
                basis=(ROBSON, CLIN_RADIOL),
            )
        )
    return tuple(raised)


def _unasked(facts: Facts) -> tuple[str, ...]:
    conditions = facts.conditions
    asked: dict[str, object] = {
        "conditions.onset": conditions.onset,
        "conditions.empties_supine": conditions.empties_supine,
        "conditions.acute_pain": conditions.acute_pain,
        "one agreed side (referral, ultrasound)": agreed_sides(facts) or None,
    }
    if conditions.onset is Onset.NEW:
        asked["patient.birth_date"] = facts.patient.birth_date
    if stated_side(facts) is Side.RIGHT:
        asked["ultrasound.other_side_affected"] = other_side_affected(facts, Side.RIGHT)
    return tuple(key for key, answer in asked.items() if answer is None)


def _isolated_right(facts: Facts, protocol: Protocol) -> list[Advisory]:
    other = other_side_affected(facts, Side.RIGHT)
    if stated_side(facts) is not Side.RIGHT or other:
        return []
    seen = protocol.limit("isolated-right-malignancy-gleason")
    bound = protocol.limit("isolated-right-malignancy-upper-bound")
    isolated = "Isolated" if other is False else "Possibly isolated (the left is not recorded)"
    return [
        advise(
            rule=RIGHT_RULE,
            urgency=Urgency.STOP_AND_THINK,
            text=f"{isolated} right varicocele. {LOOK}: the right vein seldom refluxes alone, and "
            "a mass or clot may be in its way. The evidence is in conflict: one series found "
            f"malignancy in {seen.value:g} % (2 of 55, both with other signs), another in none of "
            f"210 (upper bound {bound.value:g} %, one-sided); a review advises extended scans for "
            "all.",
            basis=(seen, bound, ROBSON),
            inputs={"side": "right", "other side affected": said(other)},
        )
    ]


def _new_onset(facts: Facts, protocol: Protocol) -> list[Advisory]:
    older = protocol.limit("older-man-age")
    age = age_on_the_day(facts.patient.birth_date, facts.on)
    if facts.conditions.onset is not Onset.NEW or age is None or age < older.value:
        return []
    return [
        advise(
            rule=ONSET_RULE,
            urgency=Urgency.STOP_AND_THINK,
            text=f"New varicocele at {age} years. {LOOK}: a renal tumour may block the vein. The "
            "evidence is in conflict: one review finds only case reports and advises extended "
            "scans for all, another holds a tumour relevant in the older patient alone.",
            basis=(older, ROBSON, CLIN_RADIOL),
            value=float(age),
            limit=older.value,
            unit=older.unit,
            inputs={"onset": "new", "age": f"{age} years"},
        )
    ]


def _not_emptying(facts: Facts) -> list[Advisory]:
    if facts.conditions.empties_supine is not False:
        return []
    return [
        advise(
            rule=SUPINE_RULE,
            urgency=Urgency.STOP_AND_THINK,
            text=f"The varicocele does not empty lying down. {LOOK}: think of an obstruction above "
            "it. The evidence is expert opinion; one review advises extended scans for all.",
            basis=(SUPINE, ROBSON),
            inputs={"empties lying down": "no"},
        )
    ]


def _acute_pain(facts: Facts) -> list[Advisory]:
    if not facts.conditions.acute_pain:
        return []
    return [
        advise(
            rule=PAIN_RULE,
            urgency=Urgency.STOP_AND_THINK,
            text="Acute pain. Worth doing next: examination and Doppler ultrasound of the scrotum "
            "now, urology called: a varicocele aches, it seldom hurts acutely; think of torsion, "
            "inflammation, or a clotted vein.",
            basis=(COMMON_PRACTICE,),
            inputs={"acute pain": "yes"},
        )
    ]
