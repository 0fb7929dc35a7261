"""Where table and tube stood for a run, whose run it is, and on which side: from its header."""

import warnings
from dataclasses import dataclass
from pathlib import Path

from coilwright.errors import FileProblem, Problem
from coilwright.veins import RunPlace, Side
from coilwright.venogram.dicom_file import open_run
from coilwright.venogram.functional_groups import number, stated
from coilwright.venogram.header_geometry import header_geometry

# Views closer than this are the same (judgement): a vein 50 mm before the isocentre moves by 2 mm.
SAME_ANGLE_DEG = 2.0
LATERALITY = {"L": Side.LEFT, "R": Side.RIGHT}


@dataclass(frozen=True, slots=True, kw_only=True)
class RunHeader:
    """``patient_id`` is only ever compared, never shown; empty where the header does not say.

    ``tilt_deg`` is the table's, positive with the head up.
    """

    patient_id: str
    laterality: Side | None
    tilt_deg: float | None
    place: RunPlace


def read_header(file: Path) -> RunHeader:
    """What a run's header says of patient, side, table and tube.

    Raises
    ------
    FileProblem
        The file cannot be used as a run.

    References
    ----------
    Positioner Primary and Secondary Angle: PS3.3 C.8.7.5 (XA Positioner). Table Angle: PS3.3
    C.8.7.4 (X-Ray Table). Table Top Longitudinal and Lateral Position (300A,0129 and 300A,012A)
    are stated by enhanced objects in their table macro, and by some classic ones.
    """
    with warnings.catch_warnings():
        # pydicom warns of odd values in fields that are not used here.
        warnings.simplefilter("ignore")
        dataset = open_run(file)
        side = stated(dataset, "ImageLaterality") or stated(dataset, "Laterality")
        tilt = stated(dataset, "TableAngle") or stated(dataset, "TableHeadTiltAngle")
        return RunHeader(
            patient_id=str(dataset.get("PatientID", "") or "").strip(),
            laterality=LATERALITY.get(str(side or "").strip().upper()),
            tilt_deg=number(tilt),
            place=RunPlace(
                primary_angle_deg=number(stated(dataset, "PositionerPrimaryAngle")),
                secondary_angle_deg=number(stated(dataset, "PositionerSecondaryAngle")),
                table_longitudinal_mm=number(stated(dataset, "TableTopLongitudinalPosition")),
                table_lateral_mm=number(stated(dataset, "TableTopLateralPosition")),
                isocentre_mm_per_pixel=header_geometry(dataset).patient_spacing_mm,
            ),
        )


def other_view(one: RunPlace, other: RunPlace) -> str | None:
    """Why the two were taken at different angles, None where they were not or nobody says."""
    pairs = [
        ("primary", one.primary_angle_deg, other.primary_angle_deg),
        ("secondary", one.secondary_angle_deg, other.secondary_angle_deg),
    ]
    for name, before, after in pairs:
        if before is not None and after is not None and abs(before - after) > SAME_ANGLE_DEG:
            return (
                f"taken at another angle (positioner {name} angle {after:g} against {before:g} "
                "degrees): the same vein lies elsewhere on it"
            )
    return None


def angles_known(one: RunPlace, other: RunPlace) -> bool:
    """Whether both headers state both angles."""
    return None not in (
        one.primary_angle_deg,
        one.secondary_angle_deg,
        other.primary_angle_deg,
        other.secondary_angle_deg,
    )


def require_same_patient(first: tuple[Path, RunHeader], other: tuple[Path, RunHeader]) -> None:
    """Refuse runs that name different patients or sides; neither value is repeated.

    Raises
    ------
    FileProblem
        Names the second file and the attribute.
    """
    (first_file, one), (file, two) = first, other
    mend = "give runs of one patient and one side"
    if one.patient_id and two.patient_id and one.patient_id != two.patient_id:
        found = f"names another patient than {first_file.name}"
        raise FileProblem(file, Problem(field="PatientID", found=found, mend=mend))
    if one.laterality and two.laterality and one.laterality is not two.laterality:
        found = f"{two.laterality.value}, but {first_file.name} is {one.laterality.value}"
        raise FileProblem(file, Problem(field="Laterality", found=found, mend=mend))
