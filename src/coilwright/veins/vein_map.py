"""The vein map: everything measured on one or more runs of the same veins."""

from dataclasses import dataclass, field

from coilwright.veins.calibration import Calibration
from coilwright.veins.edits import AppliedEdit
from coilwright.veins.landmarks import Catheter, Landmarks
from coilwright.veins.notice import Notice
from coilwright.veins.runs import MeasuredRun
from coilwright.veins.sides import Side
from coilwright.veins.vessels import Vessel, VesselKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Quality:
    """How good the picture was: contrast over noise, and the motion that was taken out."""

    contrast_to_noise: float | None
    motion_corrected_mm: float | None
    warnings: tuple[Notice, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class VeinMap:
    """The measured veins in the grid of the first run's reference frame.

    x = column, y = row, pixel centres at integers. ``side`` is only ever what was stated.
    ``edits`` records what a person changed after the measurement, in the order it was done.
    """

    runs: tuple[MeasuredRun, ...]
    reference_frame: int
    side: Side | None
    calibration: Calibration
    vessels: tuple[Vessel, ...]
    landmarks: Landmarks = field(default_factory=Landmarks)
    catheter: Catheter = field(default_factory=Catheter)
    quality: Quality
    edits: tuple[AppliedEdit, ...] = ()

    @property
    def trunk(self) -> Vessel | None:
        """The main gonadal vein, if one was found."""
        return next((v for v in self.vessels if v.kind is VesselKind.TRUNK), None)

    def vessel(self, vessel_id: str) -> Vessel:
        """The vessel with this id; KeyError if there is none."""
        for vessel in self.vessels:
            if vessel.id == vessel_id:
                return vessel
        raise KeyError(vessel_id)
