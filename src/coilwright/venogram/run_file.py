"""A run read from a DICOM file: its frames, and what its header says of them."""

import warnings
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from pydicom.dataset import Dataset

from coilwright.veins import Notice
from coilwright.venogram.dicom_file import is_capture, open_run, problem
from coilwright.venogram.frame_times import frame_times
from coilwright.venogram.functional_groups import number, stated
from coilwright.venogram.header_geometry import (
    HeaderGeometry,
    header_geometry,
    require_square_pixels,
)
from coilwright.venogram.header_mask import HeaderMask, header_mask
from coilwright.venogram.header_notices import header_notices, require_fixed_view, says_subtracted
from coilwright.venogram.pixel_doubt import NO_DOUBT, PixelDoubt, pixel_doubt
from coilwright.venogram.stored_frames import FloatStack, StoredFrames, stored_frames
from coilwright.venogram.subtracted_already import first_to_last, is_subtracted


class PixelRelationship(StrEnum):
    """Pixel Intensity Relationship (0028,1040), PS3.3 C.8.7.1.1.2."""

    LIN = "LIN"
    LOG = "LOG"
    DISP = "DISP"
    UNSTATED = "unstated"


@dataclass(frozen=True, slots=True, kw_only=True)
class RunFile:
    """One acquisition as stored.

    ``higher_is_less_beam`` follows Pixel Intensity Relationship Sign (0028,1041) and is null where
    the header does not say.
    """

    file: Path
    sop_instance_uid: str
    frames: StoredFrames
    relationship: PixelRelationship
    higher_is_less_beam: bool | None
    shown_inverted: bool
    frame_times_s: tuple[float, ...] | None
    geometry: HeaderGeometry
    already_subtracted: bool = False
    named_mask: HeaderMask | None = None
    doubt: PixelDoubt = NO_DOUBT
    notices: tuple[Notice, ...] = ()

    @property
    def stored(self) -> FloatStack:
        """Every frame after the modality transform, (frames, rows, columns)."""
        return self.frames.values()


def read_run(file: Path) -> RunFile:
    """Read one X-ray run.

    Raises
    ------
    FileProblem
        Not DICOM, not an X-ray image, no pixel data or one value everywhere, pixels that cannot be
        decoded, sizes that cannot be measured, pixels that are not square, a C-arm that turns.
    """
    with warnings.catch_warnings():
        # pydicom warns of odd values in fields that are not used here.
        warnings.simplefilter("ignore")
        dataset = open_run(file)
        require_fixed_view(dataset, file)
        require_square_pixels(dataset, file)
        frames = stored_frames(dataset, file)
        if frames.is_one_value():
            mend = "send the run again from the source"
            raise problem(file, "PixelData", "every pixel has the same value", mend)
        times = frame_times(dataset, len(frames))
        return RunFile(
            file=file,
            sop_instance_uid=str(dataset.get("SOPInstanceUID", "")),
            frames=frames,
            relationship=_relationship(dataset, frames),
            higher_is_less_beam=_higher_is_less_beam(dataset, frames),
            shown_inverted=str(dataset.PhotometricInterpretation) == "MONOCHROME1",
            frame_times_s=times.times_s,
            geometry=header_geometry(dataset),
            already_subtracted=is_subtracted(
                (frames.values([n])[0] for n in first_to_last(len(frames))),
                frames.lowest,
                frames.highest,
                header_says_so=says_subtracted(dataset),
            ),
            named_mask=header_mask(dataset, len(frames)),
            doubt=pixel_doubt(dataset),
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
