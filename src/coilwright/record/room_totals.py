"""What was given in all. Sums are rounded once, at the end: no order of entries changes them."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from math import fsum
from typing import Any

from coilwright.assessment import Given, RadiationGiven
from coilwright.record.case_fold import facts_by_kind, given_of, latest_facts
from coilwright.record.room import RoomTotals
from coilwright.record.settled import Line


def room_totals(lines: Iterable[Line]) -> RoomTotals:
    """The totals of the lines that count."""
    lines = tuple(lines)
    once, many = latest_facts(lines), facts_by_kind(lines)
    given = given_of(once, many)
    shown = given.radiation or RadiationGiven()
    return RoomTotals(
        contrast_ml=fsum(dose.volume_ml for dose in given.contrast),
        contrast_in_runs_ml=_in_runs_ml(many),
        iodine_g=fsum(dose.iodine_g for dose in given.contrast),
        lidocaine_mg=fsum(dose.mass_mg for dose in given.lidocaine),
        other_anaesthetics_mg=_by_drug((d.drug, d.mass_mg) for d in given.other_anaesthetics),
        sedatives_mg=_by_drug((dose.drug, dose.mass_mg) for dose in given.sedation),
        nitrate_mg=fsum(dose.mass_mg for dose in given.nitrate),
        sclerosant_ml=_injected_ml(given),
        sclerosant_liquid_ml=fsum(dose.liquid_ml for dose in given.sclerosant),
        kap_gy_cm2=shown.kap_gy_cm2,
        reference_air_kerma_gy=shown.reference_air_kerma_gy,
        fluoroscopy_min=shown.fluoroscopy_min,
        frames=shown.frames,
    )


def _in_runs_ml(many: Mapping[str, tuple[Any, ...]]) -> float:
    volumes = [run.conditions.volume_ml for run in many["run_received"]]
    return fsum(volume for volume in volumes if volume is not None)


def _injected_ml(given: Given) -> float:
    doses = given.sclerosant
    return fsum(ml for dose in doses for ml in (dose.liquid_ml, dose.gas_ml, dose.microfoam_ml))


def _by_drug(doses: Iterable[tuple[str, float]]) -> tuple[tuple[str, float], ...]:
    masses_mg: defaultdict[str, list[float]] = defaultdict(list)
    for drug, mass_mg in doses:
        masses_mg[str(drug)].append(mass_mg)
    return tuple((drug, fsum(masses_mg[drug])) for drug in sorted(masses_mg))
