"""Blood results that are old, or that nobody has dated."""

import datetime as dt

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.facts import Facts
from coilwright.protocol import Protocol, advise

AGE_RULE = "bloods-age"


def bloods_age(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """One advisory for each result that is older than the site accepts, or undated."""
    dates = {
        name: result.date
        for name, result in (
            ("creatinine", facts.bloods.creatinine),
            ("inr", facts.bloods.inr),
            ("platelets", facts.bloods.platelets),
        )
        if result is not None
    }
    return tuple(
        advisory
        for name, day in dates.items()
        if (advisory := _judged(name, day, facts.on, protocol)) is not None
    )


def _judged(name: str, day: dt.date | None, on: dt.date, protocol: Protocol) -> Advisory | None:
    limit = protocol.limit("bloods-maximum-age")
    if day is None:
        return advise(
            rule=AGE_RULE,
            urgency=Urgency.CAUTION,
            text=f"The day of the {name} is not recorded: bloods.{name}.date.",
            basis=(limit,),
            missing=(f"bloods.{name}.date",),
        )
    age_d = (on - day).days
    if age_d <= limit.value:
        return None
    return advise(
        rule=AGE_RULE,
        urgency=Urgency.CAUTION,
        text=f"The {name} is {age_d} days old, more than {limit.value:g}; worth repeating.",
        basis=(limit,),
        value=float(age_d),
        limit=limit.value,
        unit=limit.unit,
        inputs={"taken on": day.isoformat()},
    )
