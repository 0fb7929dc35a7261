"""Everything that a run is rendered from, as one value."""

from dataclasses import dataclass
from enum import StrEnum

from coilwright.phantom.anatomy import Anatomy
from coilwright.phantom.bystanders import Bystander
from coilwright.phantom.catheter import Catheter
from coilwright.phantom.contrast import Injection
from coilwright.phantom.course import Course
from coilwright.phantom.detector import Detector
from coilwright.phantom.geometry import Cone
from coilwright.phantom.motion import Motion
from coilwright.phantom.storage import Storage
from coilwright.phantom.vein import Vein, VeinKind


class Level(StrEnum):
    """How hard a run is to measure."""

    STILL = "still"
    BREATHING = "breathing"
    HARD = "hard"


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """A run to be rendered.

    ``veins`` holds exactly one trunk; every vein stands after the ones it joins. ``ring_mm`` is
    the internal ring's place along the trunk, null where the trunk does not reach it.
    """

    name: str
    seed: int
    level: Level
    cone: Cone
    frames: int
    frames_per_s: float
    veins: tuple[Vein, ...]
    catheter: Catheter
    injection: Injection
    anatomy: Anatomy
    motion: Motion
    detector: Detector
    storage: Storage
    ring_mm: float | None = None
    bystanders: tuple[Bystander, ...] = ()
    supersampling: int = 4

    def __post_init__(self) -> None:
        trunks = [vein for vein in self.veins if vein.kind is VeinKind.TRUNK]
        if len(trunks) != 1:
            raise ValueError(f"a scene holds one trunk, not {len(trunks)}")
        if not (self.frames > 0 and self.frames_per_s > 0 and self.supersampling >= 3):
            raise ValueError("frames, frame rate and supersampling (3 or more) must be positive")

    @property
    def trunk(self) -> Vein:
        """The main vein."""
        return next(vein for vein in self.veins if vein.kind is VeinKind.TRUNK)

    @property
    def frame_times_s(self) -> tuple[float, ...]:
        """Time of each frame from the first."""
        return tuple(frame / self.frames_per_s for frame in range(self.frames))

    def courses(self) -> dict[str, Course]:
        """The course of each vein by its id."""
        return {vein.id: vein.course() for vein in self.veins}

    def catheter_course(self, trunk: Course) -> Course:
        """The catheter's outer tube, from outside the picture to its tip."""
        reach_mm = self.cone.isocentre_mm_per_pixel * max(self.cone.rows, self.cone.columns)
        return self.catheter.course(trunk, reach_mm)
