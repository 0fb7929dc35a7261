"""A run read from a DICOM file: its frames, and what its header says of them."""

import warnings
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from pydicom.dataset import Dataset

from coilwright.veins import Notice
from coilwright.venogram.dicom_file import is_capture, open_run
from coilwright.venogram.frame_times import frame_times
from coilwright.venogram.functional_groups import number, stated
from coilwright.venogram.header_geometry import HeaderGeometry, header_geometry
from coilwright.venogram.header_notices import header_notices, require_fixed_view, says_subtracted
from coilwright.venogram.stored_frames import FloatStack, StoredFrames, stored_frames
from coilwright.venogram.subtracted_already import is_subtracted


class PixelRelationship(StrEnum):
    """Pixel Intensity Relationship (0028,1040), PS3.3 C.8.7.1.1.2."""

    LIN = "LIN"
    LOG = "LOG"
    DISP = "DISP"
    UNSTATED = "unstated"


@dataclass(frozen=True, slots=True, kw_only=True)
class RunFile:
    """One acquisition as stored.

    ``stored`` is (frames, rows, columns), after the modality transform; ``stored_minimum`` and
    ``stored_maximum`` the ends of the range it can take. ``higher_is_less_beam`` follows Pixel
    Intensity Relationship Sign (0028,1041) and is null where the header does not say.
    """

    file: Path
    sop_instance_uid: str
    stored: FloatStack
    stored_maximum: float
    relationship: PixelRelationship
    higher_is_less_beam: bool | None
    shown_inverted: bool
    frame_times_s: tuple[float, ...] | None
    geometry: HeaderGeometry
    stored_minimum: float = 0.0
    already_subtracted: bool = False
    notices: tuple[Notice, ...] = ()


def read_run(file: Path) -> RunFile:
    """Read one X-ray run.

    Raises
    ------
    FileProblem
        Not DICOM, not an X-ray image, no pixel data, pixels that cannot be decoded, sizes that
        cannot be measured, a C-arm that turns.
    """
    with warnings.catch_warnings():
        # pydicom warns of odd values in fields that are not used here.
        warnings.simplefilter("ignore")
        dataset = open_run(file)
        require_fixed_view(dataset, file)
        frames = stored_frames(dataset, file)
        times = frame_times(dataset, len(frames.values))
        return RunFile(
            file=file,
            sop_instance_uid=str(dataset.get("SOPInstanceUID", "")),
            stored=frames.values,
            stored_minimum=frames.lowest,
            stored_maximum=frames.highest,
            relationship=_relationship(dataset, frames),
            higher_is_less_beam=_higher_is_less_beam(dataset, frames),
            shown_inverted=str(dataset.PhotometricInterpretation) == "MONOCHROME1",
            frame_times_s=times.times_s,
            geometry=header_geometry(dataset),
            already_subtracted=is_subtracted(
                frames.values,
                frames.lowest,
                frames.highest,
                header_says_so=says_subtracted(dataset),
            ),
            notices=(*header_notices(dataset), *times.notices),
        )


def _relationship(dataset: Dataset, frames: StoredFrames) -> PixelRelationship:
    """As stated; LOG pixels that the modality table has made linear are LIN from there on."""
    if is_capture(dataset):
        return PixelRelationship.DISP
    words = str(stated(dataset, "PixelIntensityRelationship") or "").strip().upper()
    if words not in {"LIN", "LOG", "DISP"}:
        return PixelRelationship.UNSTATED
    if words == "LOG" and frames.to_linear:
        return PixelRelationship.LIN
    return PixelRelationship(words)


def _higher_is_less_beam(dataset: Dataset, frames: StoredFrames) -> bool | None:
    """The stated sign, of the values after the modality transform; null where unstated.

    References
    ----------
    The sign speaks of the values in Pixel Data: PS3.3 C.8.11.3.1.2. A table of LOG pixels leads
    to beam intensity: PS3.3 C.8.7.1.1.2.
    """
    if frames.to_linear:
        return False
    sign = number(stated(dataset, "PixelIntensityRelationshipSign"))
    return None if not sign else (sign < 0) != frames.turned_over
