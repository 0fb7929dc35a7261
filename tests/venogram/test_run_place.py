"""What a header says of table, tube and plane."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pydicom.dataset import FileDataset, FileMetaDataset
from pydicom.uid import UID, ExplicitVRLittleEndian, XRayAngiographicImageStorage

from coilwright.veins import RunPlace
from coilwright.venogram import read_header
from coilwright.venogram.run_place import RunHeader, other_view

Read = Callable[..., RunHeader]


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """The header of a small run with these attributes."""

    def header_of(**attributes: object) -> RunHeader:
        meta = FileMetaDataset()
        meta.TransferSyntaxUID = ExplicitVRLittleEndian
        meta.MediaStorageSOPClassUID = XRayAngiographicImageStorage
        meta.MediaStorageSOPInstanceUID = UID("1.2.3")
        dataset = FileDataset("", {}, file_meta=meta, preamble=b"\0" * 128)
        dataset.SOPClassUID, dataset.SOPInstanceUID = XRayAngiographicImageStorage, "1.2.3"
        dataset.Modality = "XA"
        dataset.Rows = dataset.Columns = 128
        dataset.BitsAllocated = dataset.BitsStored = 8
        dataset.HighBit, dataset.PixelRepresentation, dataset.SamplesPerPixel = 7, 0, 1
        dataset.PhotometricInterpretation = "MONOCHROME2"
        dataset.PixelData = np.zeros((128, 128), np.uint8).tobytes()
        for keyword, value in attributes.items():
            setattr(dataset, keyword, value)
        file = tmp_path / "run.dcm"
        dataset.save_as(file, enforce_file_format=True)
        return read_header(file)

    return header_of


@pytest.mark.parametrize(
    ("position", "stated_deg", "feet_down_deg"),
    [
        # Table Angle is positive with the head of the table upward (PS3.3 C.8.7.4): the feet are
        # down where the patient's head lies there, up where the feet do (PS3.3 C.7.3.1.1.2).
        ("HFS", 15, 15.0),
        ("HFP", -10, -10.0),
        ("FFS", 15, -15.0),
        ("FFS", 0, 0.0),
    ],
)
def test_the_tilt_is_told_feet_down(
    read: Read, position: str, stated_deg: int, feet_down_deg: float
) -> None:
    header = read(TableAngle=stated_deg, PatientPosition=position)
    assert (header.tilt_deg, header.notices) == (feet_down_deg, ())


def test_a_tilt_without_the_patients_position_is_not_taken(read: Read) -> None:
    header = read(TableAngle=15)
    assert header.tilt_deg is None
    assert [notice.code for notice in header.notices] == ["tilt-direction-not-known"]
    # A level table is level whichever way the patient lies.
    assert read(TableAngle=0).tilt_deg == 0.0


def test_without_a_table_angle_the_tilt_is_unknown(read: Read) -> None:
    assert read(PatientPosition="HFS").tilt_deg is None
    assert read(PatientPosition="HFS", TableAngle=400).tilt_deg is None


def test_free_words_are_no_statement_of_valsalva(read: Read) -> None:
    header = read(SeriesDescription="Secret^Name no valsalva")
    (notice,) = header.notices
    assert notice.code == "header-speaks-of-valsalva"
    assert "Secret" not in notice.text
    assert read(SeriesDescription="gonadal vein").notices == ()


def test_the_planes_of_a_biplane_system_are_told_apart(read: Read) -> None:
    # Image Type value 3: PS3.3 C.8.7.1.1.1; Plane Identification (0018,9457): PS3.3 C.8.19.2.
    one = read(ImageType=["ORIGINAL", "PRIMARY", "BIPLANE A"]).place
    other = read(PlaneIdentification="PLANE B").place
    assert (one.plane, other.plane) == ("A", "B")
    assert read(ImageType=["ORIGINAL", "PRIMARY", "SINGLE PLANE"]).place.plane is None
    assert "plane B of a biplane system, the other by plane A" in (other_view(one, other) or "")
    assert other_view(one, replace(other, plane="A")) is None


def test_angles_are_compared_the_short_way_round() -> None:
    one = RunPlace(primary_angle_deg=179.5, secondary_angle_deg=0.0)
    assert other_view(one, RunPlace(primary_angle_deg=-179.5, secondary_angle_deg=0.0)) is None
    assert other_view(one, RunPlace(primary_angle_deg=-170.0, secondary_angle_deg=0.0)) is not None
