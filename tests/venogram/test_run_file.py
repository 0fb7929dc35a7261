from collections.abc import Callable
from pathlib import Path

import numpy as np
import pydicom
import pytest
from pydicom.data import get_testdata_file
from pydicom.dataelem import DataElement
from pydicom.dataset import Dataset
from pydicom.pixels.processing import apply_modality_lut
from pydicom.sequence import Sequence
from pydicom.tag import Tag
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

    run = read_run(spoiled(plane))
    assert run.geometry.patient_spacing_mm is not None
    (notice,) = (n for n in run.notices if n.code == "one-plane-of-two")
    assert notice.text.startswith("plane A of a biplane run, measured alone")


def test_both_planes_frame_by_frame_are_refused(spoiled: Callable[..., Path]) -> None:
    # Frame Type of an enhanced object: PS3.3 C.8.19.3.1.
    def biplane(dataset: Dataset) -> None:
        groups = []
        for plane in ("BIPLANE A", "BIPLANE B"):
            group, properties = Dataset(), Dataset()
            properties.FrameType = ["ORIGINAL", "PRIMARY", plane]
            group.FramePixelDataPropertiesSequence = Sequence([properties])
            groups.append(group)
        dataset.PerFrameFunctionalGroupsSequence = Sequence(groups)

    with pytest.raises(FileProblem, match="ImageType: both planes of a biplane run in one file"):
        read_run(spoiled(biplane))


@pytest.mark.parametrize(
    ("keyword", "pair", "field"),
    [
        # Row spacing first: PS3.3 10.7.1.3; vertical over horizontal: PS3.3 C.7.6.3.1.7.
        ("ImagerPixelSpacing", ["0.3", "0.31"], "ImagerPixelSpacing: .*0.3 high to 0.31 wide"),
        ("PixelSpacing", ["0.4", "0.3"], "PixelSpacing: .*0.4 high to 0.3 wide"),
        ("PixelAspectRatio", [6, 5], "PixelAspectRatio: .*6 high to 5 wide"),
    ],
)
def test_pixels_that_are_not_square_are_refused(
    spoiled: Callable[..., Path], keyword: str, pair: list[object], field: str
) -> None:
    with pytest.raises(FileProblem, match=rf"{field}\); export the run with square pixels"):
        read_run(spoiled(lambda dataset: setattr(dataset, keyword, pair)))


def test_pixels_that_are_square_but_for_rounding_are_read(spoiled: Callable[..., Path]) -> None:
    def rounded(dataset: Dataset) -> None:
        dataset.ImagerPixelSpacing = ["0.3080", "0.3081"]
        dataset.PixelAspectRatio = [1, 1]

    assert read_run(spoiled(rounded)).geometry.patient_spacing_mm is not None


@pytest.mark.parametrize("spacing", ["0.000001", "1000"])
def test_a_spacing_that_no_run_has_is_no_scale(spoiled: Callable[..., Path], spacing: str) -> None:
    def absurd(dataset: Dataset) -> None:
        dataset.ImagerPixelSpacing = [spacing, spacing]

    assert read_run(spoiled(absurd)).geometry.patient_spacing_mm is None


def test_frames_that_are_more_or_fewer_than_stated_are_refused(
    spoiled: Callable[..., Path], run_bytes: bytes, tmp_path: Path
) -> None:
    file = tmp_path / "whole.dcm"
    file.write_bytes(run_bytes)
    count = int(pydicom.dcmread(file).NumberOfFrames)

    def counted(number: int) -> Path:
        return spoiled(lambda dataset: setattr(dataset, "NumberOfFrames", number))

    fewer = f"NumberOfFrames: {count - 1} by the header, but the pixels hold {count}; send"
    with pytest.raises(FileProblem, match=fewer):
        read_run(counted(count - 1))
    more = f"PixelData: cut short, or NumberOfFrames is wrong: {count}.00 of {count + 1} frames"
    with pytest.raises(FileProblem, match=more):
        read_run(counted(count + 1))
    with pytest.raises(FileProblem, match="NumberOfFrames: no whole number above zero; send"):
        read_run(counted(0))


def test_a_run_that_shows_nothing_at_all_is_refused(spoiled: Callable[..., Path]) -> None:
    def blank(dataset: Dataset) -> None:
        dataset.PixelData = bytes(len(dataset.PixelData))

    with pytest.raises(FileProblem, match="PixelData: every pixel has the same value; send"):
        read_run(spoiled(blank))


def test_an_element_that_cannot_be_read_counts_as_absent(run_bytes: bytes, tmp_path: Path) -> None:
    # Imager Pixel Spacing (0018,1164) with a value representation that PS3.5 does not have.
    file = tmp_path / "odd.dcm"
    head = b"\x18\x00\x64\x11"
    assert run_bytes.count(head + b"DS") == 1
    file.write_bytes(run_bytes.replace(head + b"DS", head + b"JS"))
    assert read_run(file).geometry.imager_spacing_mm is None


@pytest.mark.parametrize("part", [0, 1, 131, 132, 150, 400, 900, 2000])
def test_a_head_that_breaks_off_is_refused_in_one_sentence(
    run_bytes: bytes, tmp_path: Path, part: int
) -> None:
    file = tmp_path / "head.dcm"
    file.write_bytes(run_bytes[:part])
    with pytest.raises(FileProblem, match=r"^head\.dcm: \w+: [^\n]+; [^\n]+\.$"):
        read_run(file)


def test_a_folder_is_no_run(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match="file: is a directory; give a file"):
        read_run(tmp_path)


@pytest.mark.parametrize(
    ("keyword", "vr", "value", "field"),
    [
        ("Rows", "LO", "many", "Rows: no whole number"),
        ("BitsAllocated", "LO", "sixteen", "BitsAllocated: no whole number"),
        ("BitsStored", "LO", "x", "BitsStored: no whole number"),
        ("NumberOfFrames", "LO", "many", "NumberOfFrames: no whole number above zero"),
    ],
)
def test_a_size_of_the_wrong_kind_is_refused(
    spoiled: Callable[..., Path], keyword: str, vr: str, value: str, field: str
) -> None:
    def wrong(dataset: Dataset) -> None:
        tag = Tag(keyword)
        dataset[tag] = DataElement(tag, vr, value)

    with pytest.raises(FileProblem, match=f"{field}[^;]*; send the run again"):
        read_run(spoiled(wrong))


@pytest.mark.parametrize(
    "keyword",
    [
        "MaskSubtractionSequence",
        "SharedFunctionalGroupsSequence",
        "PerFrameFunctionalGroupsSequence",
        "DerivationCodeSequence",
    ],
)
def test_a_sequence_of_the_wrong_kind_counts_as_absent(
    spoiled: Callable[..., Path], keyword: str
) -> None:
    def wrong(dataset: Dataset) -> None:
        tag = Tag(keyword)
        dataset[tag] = DataElement(tag, "LO", "x")

    assert read_run(spoiled(wrong)).stored.ndim == 3


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

    run = read_run(spoiled(worse))
    assert {notice.code for notice in run.notices} == {"stored-fluoroscopy", "table-moves"}
    assert run.doubt.width_sd_px > 0.0


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


def test_the_folder_one_stands_in_is_named_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # "." has no name of its own, yet the sentence must begin with what was given.
    monkeypatch.chdir(tmp_path)
    with pytest.raises(FileProblem) as told:
        read_run(Path())
    assert str(told.value).startswith(".: file: is a directory")
