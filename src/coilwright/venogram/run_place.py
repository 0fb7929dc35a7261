"""Where table and tube stood for a run, whose run it is, and on which side: from its header."""

import warnings
from dataclasses import dataclass
from pathlib import Path

from pydicom.dataset import Dataset

from coilwright.errors import FileProblem, Problem
from coilwright.veins import Notice, RunPlace, Side
from coilwright.venogram.dicom_file import open_run, plane_of
from coilwright.venogram.functional_groups import number, stated, words
from coilwright.venogram.header_geometry import header_geometry

# Views closer than this are the same (judgement): a vein 50 mm before the isocentre moves by 2 mm.
SAME_ANGLE_DEG = 2.0
# A table does not stand on its head; Table Angle may hold anything.
MOST_TILT_DEG = 90.0
LATERALITY = {"L": Side.LEFT, "R": Side.RIGHT}


TILT_DIRECTION = Notice(
    code="tilt-direction-not-known",
    text="the header states a table tilt but not that the head lies at the table's head: whether "
    "the feet are down is not known, so the tilt is not taken; state it",
)
SPEAKS_OF_VALSALVA = Notice(
    code="header-speaks-of-valsalva",
    text="a description in the header speaks of Valsalva; free words are not relied on: state "
    "whether this run was taken with it",
)
DESCRIPTIONS = (
    "SeriesDescription",
    "ProtocolName",
    "AcquisitionProtocolDescription",
    "AcquisitionComments",
    "ImageComments",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunHeader:
    """``patient_id`` is only ever compared, never shown; empty where the header does not say.

    ``tilt_deg`` is positive with the patient's feet down; ``lies`` the Patient Position.
    """

    patient_id: str
    study_instance_uid: str | None = None
    laterality: Side | None
    tilt_deg: float | None
    lies: str | None = None
    place: RunPlace
    notices: tuple[Notice, ...] = ()


def read_header(file: Path) -> RunHeader:
    """What a run's header says of patient, side, table and tube.

    Raises
    ------
    FileProblem
        The file cannot be used as a run.

    References
    ----------
    Positioner Primary and Secondary Angle: PS3.3 C.8.7.5 (XA Positioner). Table Top Longitudinal
    and Lateral Position (300A,0129 and 300A,012A) are stated by enhanced objects in their table
    macro, and by some classic ones. Patient Position (0018,5100): PS3.3 C.7.3.1.1.2.
    """
    with warnings.catch_warnings():
        # pydicom warns of odd values in fields that are not used here.
        warnings.simplefilter("ignore")
        dataset = open_run(file, with_pixels=False)
        side = stated(dataset, "ImageLaterality") or stated(dataset, "Laterality")
        tilt_deg, unsure = _tilt(dataset)
        return RunHeader(
            patient_id=str(dataset.get("PatientID", "") or "").strip(),
            study_instance_uid=str(dataset.get("StudyInstanceUID", "") or "").strip() or None,
            laterality=LATERALITY.get(str(side or "").strip().upper()),
            tilt_deg=tilt_deg,
            lies=_lies(dataset),
            place=RunPlace(
                primary_angle_deg=number(stated(dataset, "PositionerPrimaryAngle")),
                secondary_angle_deg=number(stated(dataset, "PositionerSecondaryAngle")),
                table_longitudinal_mm=number(stated(dataset, "TableTopLongitudinalPosition")),
                table_lateral_mm=number(stated(dataset, "TableTopLateralPosition")),
                isocentre_mm_per_pixel=header_geometry(dataset).patient_spacing_mm,
                plane=plane_of(dataset),
            ),
            notices=(*unsure, *_of_descriptions(dataset)),
        )


def _lies(dataset: Dataset) -> str | None:
    return next(iter(words(stated(dataset, "PatientPosition"))), None)


def _tilt(dataset: Dataset) -> tuple[float | None, tuple[Notice, ...]]:
    """The tilt, feet down positive, where the header tells how the patient lies on the table.

    References
    ----------
    Table Angle (0018,1138), PS3.3 C.8.7.4, and Table Head Tilt Angle (0018,9470), PS3.3
    C.8.19.6.11: positive where the head of the table is upward; the patient's own head lies there
    only in a head-first position.
    """
    stated_deg = stated(dataset, "TableAngle")
    if stated_deg is None:
        stated_deg = stated(dataset, "TableHeadTiltAngle")
    tilt_deg = number(stated_deg)
    if tilt_deg is None or abs(tilt_deg) > MOST_TILT_DEG:
        return None, ()
    lies = _lies(dataset) or ""
    if tilt_deg == 0.0 or lies.startswith("HF"):
        return tilt_deg, ()
    if lies.startswith("FF"):
        return -tilt_deg, ()
    return None, (TILT_DIRECTION,)


def _of_descriptions(dataset: Dataset) -> tuple[Notice, ...]:
    said = " ".join(str(stated(dataset, name) or "") for name in DESCRIPTIONS)
    return (SPEAKS_OF_VALSALVA,) if "VALSALVA" in said.upper() else ()


def other_view(one: RunPlace, other: RunPlace) -> str | None:
    """Why the two were taken at different angles, None where they were not or nobody says."""
    if one.plane and other.plane and one.plane != other.plane:
        return (
            f"taken by plane {other.plane} of a biplane system, the other by plane {one.plane}: "
            "the same vein lies elsewhere on it"
        )
    pairs = [
        ("primary", one.primary_angle_deg, other.primary_angle_deg),
        ("secondary", one.secondary_angle_deg, other.secondary_angle_deg),
    ]
    for name, before, after in pairs:
        if before is not None and after is not None and _apart(before, after) > SAME_ANGLE_DEG:
            return (
                f"taken at another angle (positioner {name} angle {after:g} against {before:g} "
                "degrees): the same vein lies elsewhere on it"
            )
    return None


def _apart(one_deg: float, other_deg: float) -> float:
    """Degrees between two angles, the short way round."""
    return abs((one_deg - other_deg + 180.0) % 360.0 - 180.0)


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
