"""The DICOM object against the standard's own list, read back by pydicom."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pydicom
import pytest
from pydicom.pixels.processing import apply_modality_lut

from coilwright.phantom import Rendered, Scene, render, write_run
from coilwright.phantom.storage import Relationship, Storage

# PS3.3 C.8.7.1 (X-Ray Image Module): every attribute of type 1, and those of type 1C whose
# condition holds for a multi-frame image.
XRAY_IMAGE_TYPE_1 = (
    "FrameIncrementPointer",
    "LossyImageCompression",
    "ImageType",
    "PixelIntensityRelationship",
    "SamplesPerPixel",
    "PhotometricInterpretation",
    "BitsAllocated",
    "BitsStored",
    "HighBit",
    "PixelRepresentation",
)
# Type 1 in the other mandatory modules of A.14: C.7.2.1, C.7.3.1, C.7.6.3, C.7.6.6, C.8.7.2,
# C.12.1.
OTHER_TYPE_1 = (
    "StudyInstanceUID",
    "SeriesInstanceUID",
    "Modality",
    "Rows",
    "Columns",
    "NumberOfFrames",
    "FrameTime",
    "RadiationSetting",
    "SOPClassUID",
    "SOPInstanceUID",
    "PixelData",
)
# Type 2: present, empty if unknown (C.7.1.1, C.7.2.1, C.7.3.1, C.7.5.1, C.7.6.1, C.8.7.2, C.8.7.5).
TYPE_2 = (
    "PatientName",
    "PatientID",
    "PatientBirthDate",
    "PatientSex",
    "StudyDate",
    "StudyTime",
    "ReferringPhysicianName",
    "StudyID",
    "AccessionNumber",
    "SeriesNumber",
    "Manufacturer",
    "InstanceNumber",
    "KVP",
    "PositionerPrimaryAngle",
    "PositionerSecondaryAngle",
)


@pytest.fixture
def rendered(straight_scene: Scene) -> Rendered:
    return render(straight_scene)


def read_back(rendered: Rendered, folder: Path) -> pydicom.Dataset:
    write_run(rendered, folder / "run.dcm")
    return pydicom.dcmread(folder / "run.dcm")


def test_the_file_holds_every_attribute_that_the_standard_demands(
    rendered: Rendered, tmp_path: Path
) -> None:
    dataset = read_back(rendered, tmp_path)
    missing = [name for name in (*XRAY_IMAGE_TYPE_1, *OTHER_TYPE_1) if not dataset.get(name, "")]
    # Pixel Representation is zero by rule, so its presence is what counts.
    assert missing == ["PixelRepresentation"]
    assert [name for name in (*TYPE_2, "PixelRepresentation") if name not in dataset] == []


def test_the_file_is_a_multi_frame_xa_image(rendered: Rendered, tmp_path: Path) -> None:
    dataset = read_back(rendered, tmp_path)
    # PS3.6: X-Ray Angiographic Image Storage; explicit VR little endian.
    assert dataset.SOPClassUID == "1.2.840.10008.5.1.4.1.1.12.1"
    assert dataset.file_meta.TransferSyntaxUID == "1.2.840.10008.1.2.1"
    assert dataset.FrameIncrementPointer == 0x00181063
    assert dataset.FrameTime == 500.0
    assert (dataset.BitsAllocated, dataset.BitsStored, dataset.HighBit) == (16, 16, 15)


def test_the_header_states_the_true_geometry(rendered: Rendered, tmp_path: Path) -> None:
    dataset = read_back(rendered, tmp_path)
    assert [float(value) for value in dataset.ImagerPixelSpacing] == [0.22, 0.22]
    # By hand: 1100 / 750 = 1.466667.
    assert dataset.EstimatedRadiographicMagnificationFactor == pytest.approx(1.466667, abs=1e-6)
    assert dataset.DistanceSourceToDetector == 1100.0
    assert dataset.DistanceSourceToPatient == 750.0
    assert list(dataset.PatientOrientation) == ["L", "F"]


def test_pixels_come_back_as_they_were_rendered(rendered: Rendered, tmp_path: Path) -> None:
    assert np.array_equal(read_back(rendered, tmp_path).pixel_array, rendered.frames)


def test_eight_bit_pixels_come_back_too(straight_scene: Scene, tmp_path: Path) -> None:
    storage = Storage(relationship=Relationship.DISP, bits_stored=8)
    rendered = render(replace(straight_scene, storage=storage))
    dataset = read_back(rendered, tmp_path)
    assert dataset.BitsAllocated == 8
    assert np.array_equal(dataset.pixel_array, rendered.frames)


@pytest.mark.parametrize("sign", [1, -1])
def test_the_table_of_a_log_run_leads_back_to_the_beam(
    straight_scene: Scene, tmp_path: Path, sign: int
) -> None:
    # PS3.3 A.14 asks for a Modality LUT where pixels are LOG; behind it the ratio on the vein's
    # axis is the beam's own: exp(-0.1 * 4) = 0.6703. A LOG step is 6 / 4095 = 0.15 %.
    storage = Storage(relationship=Relationship.LOG, bits_stored=12, sign=sign)
    dataset = read_back(render(replace(straight_scene, storage=storage)), tmp_path)
    linear = apply_modality_lut(dataset.pixel_array, dataset).astype(float)
    assert linear[-1, 32, 48] / linear[0, 32, 48] == pytest.approx(0.6703, rel=3e-3)


def test_the_same_run_is_written_as_the_same_bytes(rendered: Rendered, tmp_path: Path) -> None:
    for name in ("first.dcm", "second.dcm"):
        write_run(rendered, tmp_path / name)
    assert (tmp_path / "first.dcm").read_bytes() == (tmp_path / "second.dcm").read_bytes()


def test_runs_of_different_scenes_have_different_instances(
    straight_scene: Scene, tmp_path: Path
) -> None:
    uids = {
        read_back(render(scene), tmp_path).SOPInstanceUID
        for scene in (straight_scene, replace(straight_scene, frames=5))
    }
    assert len(uids) == 2
