"""Peak skin dose estimated from the air kerma that the machine shows at its reference point.

An upper estimate for one field: only beams that overlap on the skin add up, and the air kerma
adds them all.
"""

from dataclasses import dataclass

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.facts import Facts
from coilwright.assessment.given import RadiationGiven, SkinGeometry
from coilwright.protocol import Citation, Limit, Protocol, advise

SKIN_DOSE_RULE = "peak-skin-dose-estimate"
MGY_PER_GY = 1000.0
METHOD = Citation(
    source="Thesis on skin dose in interventional radiology, OHSU 2021, list of factors; "
    "reference point 15 cm from the isocentre: Balter S, Pediatr Radiol 2006 (IEC 60601-2-43)",
    status=Status.PUBLISHED,
)


def peak_skin_dose_mgy(
    *,
    air_kerma_mgy: float,
    reference_mm: float,
    skin_mm: float,
    backscatter: float,
    table_transmission: float,
    tissue_factor: float,
) -> float:
    """Peak skin dose in mGy under one field.

    Parameters
    ----------
    air_kerma_mgy
        At the reference point, in air.
    reference_mm, skin_mm
        From the X-ray source to the reference point and to the skin, both above 0.

    Raises
    ------
    ValueError
        A distance is not above 0.

    References
    ----------
    CLINICAL.md 6.4; factors listed in a thesis of OHSU, 2021; inverse square law.

    Examples
    --------
    >>> round(peak_skin_dose_mgy(air_kerma_mgy=1000, reference_mm=600, skin_mm=600,
    ...     backscatter=1.3, table_transmission=0.75, tissue_factor=1.06), 1)
    1033.5
    """
    if reference_mm <= 0 or skin_mm <= 0:
        raise ValueError("the distances from the source must be above 0 mm")
    distance = (reference_mm / skin_mm) ** 2
    return air_kerma_mgy * distance * backscatter * table_transmission * tissue_factor


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """One factor, and the limit it comes from where the case does not state it."""

    name: str
    value: float
    limit: Limit | None

    @property
    def words(self) -> str:
        where = "stated" if self.limit is None else f"protocol, {self.limit.status}"
        return f"{self.value:g} ({where})"


def peak_skin_dose(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """The estimate beside its levels; without air kerma or a distance, what is missing for it."""
    radiation = facts.given.radiation
    if radiation is None:
        return ()
    kerma_gy, skin = radiation.reference_air_kerma_gy, radiation.skin
    reference_mm, skin_mm = skin.source_to_reference_point_mm, skin.source_to_skin_mm
    if kerma_gy is None or reference_mm is None or skin_mm is None:
        return (_cannot(radiation, protocol),)
    factors = _factors(skin, protocol)
    calibration = 1.0 if skin.calibration_factor is None else skin.calibration_factor
    dose_mgy = peak_skin_dose_mgy(
        air_kerma_mgy=kerma_gy * MGY_PER_GY * calibration,
        reference_mm=reference_mm,
        skin_mm=skin_mm,
        backscatter=factors["backscatter"].value,
        table_transmission=factors["table_transmission"].value,
        tissue_factor=factors["tissue_factor"].value,
    )
    inputs = {
        "reference air kerma": f"{kerma_gy * MGY_PER_GY:g} mGy",
        "source to reference point": f"{reference_mm:g} mm",
        "source to skin": f"{skin_mm:g} mm",
        **{factor.name: factor.words for factor in factors.values()},
    }
    return (_estimate(dose_mgy, skin, tuple(factors.values()), inputs, protocol),)


def _factors(skin: SkinGeometry, protocol: Protocol) -> dict[str, Factor]:
    names = {
        "backscatter": "backscatter",
        "table_transmission": "table transmission",
        "tissue_factor": "tissue factor",
    }
    found = {}
    for field, name in names.items():
        stated: float | None = getattr(skin, field)
        limit = protocol.limit(f"skin-dose-{name.replace(' ', '-')}") if stated is None else None
        value = stated if limit is None else limit.value
        if value is not None:
            found[field] = Factor(name=name, value=value, limit=limit)
    return found


def _estimate(
    dose_mgy: float,
    skin: SkinGeometry,
    factors: tuple[Factor, ...],
    inputs: dict[str, str],
    protocol: Protocol,
) -> Advisory:
    notify = protocol.limit("radiation-skin-dose-notification")
    follow = protocol.limit("radiation-skin-dose-follow-up")
    tolerance = protocol.limit("air-kerma-display-tolerance")
    calibrated = skin.calibration_factor is not None
    share = tolerance.value / 100.0
    between = None if calibrated else (dose_mgy * (1.0 - share), dose_mgy * (1.0 + share))
    highest_mgy = dose_mgy if between is None else between[1]
    urgency, level, words = _against(dose_mgy, highest_mgy, notify, follow)
    of_protocol = tuple(factor.limit for factor in factors if factor.limit is not None)
    spread = _spread(skin, tolerance)
    return advise(
        rule=SKIN_DOSE_RULE,
        urgency=urgency,
        text=" ".join(
            (
                f"Peak skin dose estimated at {dose_mgy:.0f} mGy ({spread}): {words}. An upper "
                "estimate for one field: only beams that overlap on the skin add up.",
                *_taken_words(factors),
            )
        ),
        basis=(METHOD, notify, follow, *of_protocol, *(() if calibrated else (tolerance,))),
        value=dose_mgy,
        between=between,
        limit=level.value * MGY_PER_GY,
        unit="mGy",
        inputs={**inputs, "calibration": spread},
    )


def _spread(skin: SkinGeometry, tolerance: Limit) -> str:
    if skin.calibration_factor is None:
        return (
            f"{tolerance.value:g} % either way for the display alone, no calibration factor stated"
        )
    return (
        f"calibration factor {skin.calibration_factor:g} stated, the spread of the other factors "
        "not counted"
    )


def _taken_words(factors: tuple[Factor, ...]) -> tuple[str, ...]:
    names = [factor.name for factor in factors if factor.limit is not None]
    return (f"Not stated in the case, so of the protocol: {', '.join(names)}.",) if names else ()


def _against(
    dose_mgy: float, highest_mgy: float, notify: Limit, follow: Limit
) -> tuple[Urgency, Limit, str]:
    """The estimate decides how it stands; its upper end already asks for caution."""
    notify_mgy, follow_mgy = notify.value * MGY_PER_GY, follow.value * MGY_PER_GY
    if dose_mgy >= follow_mgy:
        words = (
            f"at or above {follow_mgy:g} mGy: by the guidelines the patient is told and followed up"
        )
        return Urgency.STOP_AND_THINK, follow, words
    if highest_mgy >= follow_mgy:
        words = f"may reach the {follow_mgy:g} mGy from which the patient is followed up"
        return Urgency.CAUTION, follow, words
    if dose_mgy >= notify_mgy:
        words = f"at or above the first notification of {notify_mgy:g} mGy"
        return Urgency.CAUTION, follow, words
    if highest_mgy >= notify_mgy:
        return Urgency.CAUTION, notify, f"may reach the first notification of {notify_mgy:g} mGy"
    return Urgency.INFO, notify, f"below the first notification of {notify_mgy:g} mGy"


def _cannot(radiation: RadiationGiven, protocol: Protocol) -> Advisory:
    """Quiet while the air kerma is below the level at which a guideline looks at the skin."""
    values = {
        "given.radiation.reference_air_kerma": radiation.reference_air_kerma_gy,
        "given.radiation.skin.source_to_reference_point": (
            radiation.skin.source_to_reference_point_mm
        ),
        "given.radiation.skin.source_to_skin": radiation.skin.source_to_skin_mm,
    }
    missing = tuple(key for key, value in values.items() if value is None)
    looked_at = protocol.limit("radiation-air-kerma-notification")
    kerma_gy = radiation.reference_air_kerma_gy
    quiet = kerma_gy is not None and kerma_gy < looked_at.value
    return advise(
        rule=SKIN_DOSE_RULE,
        urgency=Urgency.INFO if quiet else Urgency.CAUTION,
        text=f"Peak skin dose cannot be estimated: not recorded: {', '.join(missing)}.",
        basis=(METHOD, looked_at),
        inputs={} if kerma_gy is None else {"reference air kerma": f"{kerma_gy:g} Gy"},
        missing=missing,
    )
