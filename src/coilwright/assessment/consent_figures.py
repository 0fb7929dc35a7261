"""What is told before consent: published rates as numbers of people, with what stands behind them.

The figures are of varicocele in men. The site's own are laid beside them once the audit has any.
"""

from collections.abc import Iterable, Sequence

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.facts import Facts, Sex
from coilwright.assessment.odds_ratio import OddsRatio, odds_ratio
from coilwright.assessment.published_figure import Figure, figure, figure_range
from coilwright.protocol import Basis, Citation, Protocol, advise

SUCCESS_RULE = "consent-success"
RECURRENCE_RULE = "consent-recurrence"
COMPLICATIONS_RULE = "consent-complications"
MIGRATION_RULE = "consent-migration-and-phlebitis"
SURGERY_RULE = "consent-against-surgery"
AFTERCARE_RULE = "consent-aftercare"

INTERVALS = "An interval stands only where events and those at risk are both published."
SITE = "The site's own figure: none recorded yet."
SUCCESSES = (
    "Technical success (no reflux at the end), clinical success (symptoms or semen) and "
    "anatomical success (no reflux on ultrasound later) are different things: say which is meant."
)
LEAFLETS = Citation(
    source="patient leaflets of several hospitals, United Kingdom, on varicocele embolisation",
    status=Status.PUBLISHED,
)
UROLOGISTS_LEAFLET = Citation(
    source="British Association of Urological Surgeons, patient leaflet 16/046, June 2017",
    status=Status.PUBLISHED,
)


def consent_figures(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Success, recurrence, complications, surgery and aftercare; one line for a woman."""
    if facts.patient.sex is Sex.FEMALE:
        return (_for_men_alone(),)
    return (
        _success(protocol),
        _recurrence(protocol),
        _complications(protocol),
        _migration_and_phlebitis(protocol),
        _against_surgery(protocol),
        _aftercare(protocol),
    )


def _for_men_alone() -> Advisory:
    return advise(
        rule=SUCCESS_RULE,
        urgency=Urgency.INFO,
        text="The consent figures held here are of varicocele in men and do not apply to this "
        "patient; none are held for the ovarian vein.",
        basis=(LEAFLETS,),
        inputs={"sex": "female"},
    )


def _told(
    rule: str,
    figures: Sequence[Figure],
    *,
    before: str = "",
    after: str = "",
    more_basis: Iterable[Basis] = (),
) -> Advisory:
    """One advisory that lists figures, ending with the site's own."""
    listed = f"{'; '.join(one.text for one in figures)}."
    intervals = INTERVALS if any(one.counted for one in figures) else ""
    limits = [limit for one in figures for limit in one.limits]
    return advise(
        rule=rule,
        urgency=Urgency.INFO,
        text=" ".join(filter(None, (before, listed, after, intervals, SITE))),
        basis=(*limits, *more_basis),
        inputs={_name(one): one.reads for one in figures},
        judges=False,
    )


def _name(one: Figure) -> str:
    """Title and source, for several series share a title."""
    limit = one.limits[0]
    return f"{limit.title} [{limit.source}]"


def _success(protocol: Protocol) -> Advisory:
    return _told(
        SUCCESS_RULE,
        (
            figure(protocol, "consent-technical-review", nearness="more than"),
            figure(protocol, "consent-leaflet-success"),
            figure(protocol, "consent-technical-radiology-1996"),
            figure(protocol, "consent-technical-neck-or-groin"),
            figure(protocol, "consent-technical-long-follow-up"),
            figure(protocol, "consent-technical-sclerosant", whom="procedures"),
            figure(protocol, "consent-technical-adolescents", whom="procedures"),
            figure_range(protocol, "consent-technical-quoted"),
            figure(protocol, "consent-technical-failure-literature"),
            figure(protocol, "consent-clinical-long-follow-up"),
        ),
        after=SUCCESSES,
    )


def _recurrence(protocol: Protocol) -> Advisory:
    materials = ("glue", "coils", "sclerosant", "coils-and-sclerosant")
    return _told(
        RECURRENCE_RULE,
        (
            *(figure(protocol, f"consent-recurrence-{material}") for material in materials),
            figure(protocol, "consent-recurrence-radiology-1996"),
            figure(protocol, "consent-recurrence-neck-or-groin"),
            figure(protocol, "consent-recurrence-long-follow-up"),
            figure_range(protocol, "consent-recurrence-quoted"),
            figure_range(protocol, "consent-recurrence-literature"),
            figure_range(protocol, "consent-recurrence-six-weeks"),
        ),
        before="The varicocele may come back. Follow-up differs in length, so these do not rank "
        "the materials.",
    )


def _complications(protocol: Protocol) -> Advisory:
    return _told(
        COMPLICATIONS_RULE,
        (
            figure(protocol, "consent-complications-overall"),
            figure(protocol, "consent-perforation"),
            figure(protocol, "consent-extravasation"),
            figure(protocol, "consent-transient-pain"),
        ),
        before="Series count differently: some leave out of the total what passed by itself.",
        after="Leaflets name a bruise at neck or groin, a mild ache, and rarely a coil that moves "
        "during the case and may be retrieved; a urologists' leaflet holds that there is no "
        "significant risk of testicular atrophy or hydrocele.",
        more_basis=(LEAFLETS, UROLOGISTS_LEAFLET),
    )


def _migration_and_phlebitis(protocol: Protocol) -> Advisory:
    return _told(
        MIGRATION_RULE,
        (
            figure(protocol, "consent-migration", nearness="less than"),
            figure_range(protocol, "consent-phlebitis"),
        ),
    )


def _against_surgery(protocol: Protocol) -> Advisory:
    of_embolisation = ("recurrence", "complications", "hydrocele")
    of_surgery = ("hydrocele", "orchi-epididymitis")
    ratios: tuple[OddsRatio, ...] = (
        *(odds_ratio(protocol, f"consent-odds-{what}") for what in of_embolisation),
        *(
            odds_ratio(protocol, f"consent-odds-of-surgery-{what}", of_surgery=True)
            for what in of_surgery
        ),
    )
    return advise(
        rule=SURGERY_RULE,
        urgency=Urgency.INFO,
        text=f"Sclero-embolisation beside surgery: {'; '.join(ratio.text for ratio in ratios)}. "
        f"An odds ratio says which is more frequent, not how many men it befalls. {SITE}",
        basis=tuple(limit for ratio in ratios for limit in ratio.limits),
        inputs={f"{ratio.title} [{ratio.source}]": ratio.reads for ratio in ratios},
    )


def _aftercare(protocol: Protocol) -> Advisory:
    ids = {
        "discharge": "consent-discharge",
        "no straining, from": "consent-no-strain-lower",
        "no straining, to": "consent-no-strain-upper",
        "ultrasound, one series": "consent-ultrasound-early",
        "ultrasound, other series": "consent-ultrasound-second",
        "ultrasound, other series, again": "consent-ultrasound-third",
        "semen": "consent-semen-first",
        "semen, again": "consent-semen-second",
        "spermatogenic cycle": "spermatogenic-cycle",
    }
    limits = {name: protocol.limit(id) for name, id in ids.items()}
    hours = {name: f"{limit.value:g}" for name, limit in limits.items()}
    return advise(
        rule=AFTERCARE_RULE,
        urgency=Urgency.INFO,
        text=f"Aftercare. One series let men go {hours['discharge']} h after sclerotherapy; with "
        "local anaesthetic it is a day case. Leaflets: no driving home, and somebody with you. "
        f"No lifting or straining for {hours['no straining, from']} to "
        f"{hours['no straining, to']} h, by pages for patients; many work the next day. "
        f"Ultrasound: at {hours['ultrasound, one series']} d in one series, at "
        f"{hours['ultrasound, other series']} and {hours['ultrasound, other series, again']} "
        f"months in another. Semen: usual at {hours['semen']} and {hours['semen, again']} months, "
        f"for one spermatogenic cycle takes about {hours['spermatogenic cycle']} d. {SITE}",
        basis=(*limits.values(), LEAFLETS),
        inputs={name: f"{limit.value:g} {limit.unit}" for name, limit in limits.items()},
    )
