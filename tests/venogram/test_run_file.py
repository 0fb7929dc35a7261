from collections.abc import Callable
from pathlib import Path

import numpy as np
import pydicom
import pytest
from pydicom.data import get_testdata_file
from pydicom.dataset import Dataset
from pydicom.pixels.processing import apply_modality_lut
from pydicom.sequence import Sequence
from pydicom.uid import ExplicitVRLittleEndian

from coilwright.errors import FileProblem
from coilwright.phantom import Level, random_scene, render, write_run
from coilwright.venogram import read_run
from coilwright.venogram.header_geometry import header_geometry
from coilwright.venogram.run_file import PixelRelationship


@pytest.fixture(scope="module")
def run_bytes(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    file = tmp_path_factory.mktemp("run") / "run.dcm"
    write_run(render(random_scene(1009, Level.STILL)), file)
    return file.read_bytes()


@pytest.fixture
def spoiled(run_bytes: bytes, tmp_path: Path) -> Callable[[Callable[[Dataset], None]], Path]:
    """A rendered run with something done to its header."""

    def spoil(change: Callable[[Dataset], None]) -> Path:
        file = tmp_path / "spoiled.dcm"
        file.write_bytes(run_bytes)
        dataset = pydicom.dcmread(file)
        change(dataset)
        dataset.save_as(file)
        return file

    return spoil


def test_a_text_file_is_not_dicom(tmp_path: Path) -> None:
    file = tmp_path / "notes.dcm"
    file.write_text("left varicocele")
    with pytest.raises(FileProblem, match=r"notes\.dcm: file: not a DICOM file; give"):
        read_run(file)


def test_a_missing_file_says_so(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match=r"gone\.dcm: file: no such file"):
        read_run(tmp_path / "gone.dcm")


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("CT_small.dcm", "CT Image"),
        ("MR_small.dcm", "MR Image"),
        ("rtplan.dcm", "RT Plan"),
        ("rtdose.dcm", "RT Dose"),
        ("examples_palette.dcm", "Ultrasound"),
        ("SC_rgb_rle.dcm", "Secondary Capture Image"),
    ],
)
def test_files_of_other_kinds_are_refused_by_their_name(name: str, kind: str) -> None:
    # pydicom's own test files; names of storage classes: PS3.4 B.5.
    with pytest.raises(FileProblem, match=f"not an X-ray angiographic image but .*{kind}"):
        read_run(Path(str(get_testdata_file(name))))


def test_a_colour_picture_is_refused(spoiled: Callable[..., Path]) -> None:
    def colour(dataset: Dataset) -> None:
        dataset.PhotometricInterpretation = "RGB"

    with pytest.raises(FileProblem, match="RGB is a colour picture"):
        read_run(spoiled(colour))


def test_both_planes_in_one_file_are_refused(spoiled: Callable[..., Path]) -> None:
    # X-Ray Angiographic Bi-Plane Image Storage (retired): PS3.4 B.5.
    def biplane(dataset: Dataset) -> None:
        dataset.SOPClassUID = "1.2.840.10008.5.1.4.1.1.12.3"

    with pytest.raises(FileProblem, match="both planes of a biplane run in one file; export each"):
        read_run(spoiled(biplane))


def test_one_plane_of_a_biplane_run_is_read(spoiled: Callable[..., Path]) -> None:
    def plane(dataset: Dataset) -> None:
        dataset.ImageType = ["ORIGINAL", "PRIMARY", "BIPLANE A"]

    assert read_run(spoiled(plane)).geometry.patient_spacing_mm is not None


def test_a_turning_arm_is_refused(spoiled: Callable[..., Path]) -> None:
    def turning(dataset: Dataset) -> None:
        dataset.PositionerMotion = "DYNAMIC"
        dataset.PositionerPrimaryAngleIncrement = ["0", "15", "30"]

    with pytest.raises(FileProblem, match="PositionerMotion: the C-arm turns by 30 degrees"):
        read_run(spoiled(turning))


def test_what_the_header_says_of_the_run_is_passed_on(spoiled: Callable[..., Path]) -> None:
    # Radiation Setting SC: PS3.3 C.8.7.2.1; Table Motion: PS3.3 C.8.7.4.
    def worse(dataset: Dataset) -> None:
        dataset.RadiationSetting, dataset.TableMotion = "SC", "DYNAMIC"

    assert {notice.code for notice in read_run(spoiled(worse)).notices} == {
        "stored-fluoroscopy",
        "table-moves",
    }


def test_a_file_without_its_preamble_is_read(run_bytes: bytes, tmp_path: Path) -> None:
    # PS3.10 7.1: 128 bytes and the prefix "DICM" come before the file meta information.
    file = tmp_path / "bare.dcm"
    file.write_bytes(run_bytes[132:])
    assert read_run(file).stored.ndim == 3


def enhanced(dataset: Dataset) -> None:
    """The same run as an enhanced object: PS3.3 A.47 and C.8.19.6."""
    dataset.SOPClassUID = "1.2.840.10008.5.1.4.1.1.12.1.1"
    pixels, distances = Dataset(), Dataset()
    pixels.ImagerPixelSpacing = dataset.ImagerPixelSpacing
    distances.DistanceSourceToDetector = float(dataset.DistanceSourceToDetector)
    distances.DistanceSourceToIsocenter = float(dataset.DistanceSourceToPatient)
    shared = Dataset()
    shared.FramePixelDataPropertiesSequence = Sequence([pixels])
    shared.XRayGeometrySequence = Sequence([distances])
    dataset.SharedFunctionalGroupsSequence = Sequence([shared])
    frames = []
    for number in range(int(dataset.NumberOfFrames)):
        frame, content = Dataset(), Dataset()
        content.FrameReferenceDateTime = f"202503041015{number:02d}.500000"
        frame.FrameContentSequence = Sequence([content])
        frames.append(frame)
    dataset.PerFrameFunctionalGroupsSequence = Sequence(frames)
    for name in ("ImagerPixelSpacing", "DistanceSourceToDetector", "DistanceSourceToPatient"):
        delattr(dataset, name)
    for name in ("FrameTime", "CineRate", "RecommendedDisplayFrameRate"):
        delattr(dataset, name)
    del dataset.EstimatedRadiographicMagnificationFactor


def test_an_enhanced_run_says_the_same_as_the_classic_one(
    spoiled: Callable[..., Path], run_bytes: bytes, tmp_path: Path
) -> None:
    file = tmp_path / "classic.dcm"
    file.write_bytes(run_bytes)
    classic, new = read_run(file), read_run(spoiled(enhanced))
    assert np.array_equal(classic.stored, new.stored)
    assert new.relationship is classic.relationship
    assert new.geometry.patient_spacing_mm == pytest.approx(classic.geometry.patient_spacing_mm)
    # One frame a second, as the clocks above were set.
    assert new.frame_times_s == tuple(float(n) for n in range(len(new.stored)))


def test_a_run_without_pixels_is_refused(spoiled: Callable[..., Path]) -> None:
    def no_pixels(dataset: Dataset) -> None:
        del dataset.PixelData

    with pytest.raises(FileProblem, match="PixelData: the file holds no pixel data; export"):
        read_run(spoiled(no_pixels))


def test_a_truncated_file_is_refused(run_bytes: bytes, tmp_path: Path) -> None:
    for part in (0.3, 0.9):
        file = tmp_path / "cut.dcm"
        file.write_bytes(run_bytes[: int(part * len(run_bytes))])
        with pytest.raises(FileProblem, match=r"cut\.dcm: .*cut short"):
            read_run(file)


def test_an_unknown_transfer_syntax_is_refused(run_bytes: bytes, tmp_path: Path) -> None:
    # A private syntax: nobody can decode it.
    file = tmp_path / "odd.dcm"
    assert ExplicitVRLittleEndian.encode() in run_bytes
    file.write_bytes(run_bytes.replace(b"1.2.840.10008.1.2.1\0", b"1.2.840.99999.1.2.1\0", 1))
    with pytest.raises(FileProblem, match=r"odd\.dcm: .*(decoded|damaged)"):
        read_run(file)


def test_no_patient_data_reaches_the_message(spoiled: Callable[..., Path]) -> None:
    def other(dataset: Dataset) -> None:
        dataset.PatientName = "Secret^Name"
        dataset.Modality = "US"
        dataset.SOPClassUID = "1.2.840.10008.5.1.4.1.1.6.1"

    with pytest.raises(FileProblem) as caught:
        read_run(spoiled(other))
    assert "Secret" not in str(caught.value)


def test_stored_values_and_relationship_are_read_as_written(
    run_bytes: bytes, tmp_path: Path
) -> None:
    file = tmp_path / "run.dcm"
    file.write_bytes(run_bytes)
    run = read_run(file)
    # Reference: pydicom's own decoding and modality transform.
    dataset = pydicom.dcmread(file)
    reference = apply_modality_lut(dataset.pixel_array, dataset)
    assert np.array_equal(run.stored, reference.astype(np.float32))
    assert run.relationship in {PixelRelationship.LIN, PixelRelationship.LOG}


def test_scale_at_the_isocentre_by_the_worked_example() -> None:
    # CLINICAL.md section 9.1: SID 1100, SOD 750, 0.308 mm -> ERMF 1.4667, 0.2100 mm.
    header = Dataset()
    header.ImagerPixelSpacing = ["0.308", "0.308"]
    header.DistanceSourceToDetector = "1100"
    header.DistanceSourceToPatient = "750"
    geometry = header_geometry(header)
    assert geometry.magnification == pytest.approx(1.4667, abs=5e-5)
    assert geometry.patient_spacing_mm == pytest.approx(0.2100, abs=5e-5)


def test_a_detector_before_the_patient_gives_no_scale() -> None:
    header = Dataset()
    header.ImagerPixelSpacing = ["0.308", "0.308"]
    header.DistanceSourceToDetector, header.DistanceSourceToPatient = "750", "1100"
    assert header_geometry(header).patient_spacing_mm is None


def test_detector_spacing_alone_is_no_scale() -> None:
    header = Dataset()
    header.ImagerPixelSpacing = ["0.308", "0.308"]
    assert header_geometry(header).patient_spacing_mm is None
