from collections.abc import Callable
from pathlib import Path

import numpy as np
import pydicom
import pytest
from pydicom.data import get_testdata_file
from pydicom.dataset import Dataset
from pydicom.uid import ExplicitVRLittleEndian

from coilwright.errors import FileProblem
from coilwright.phantom import Level, random_scene, render, write_run
from coilwright.venogram import read_run
from coilwright.venogram.header_geometry import header_geometry
from coilwright.venogram.run_file import PixelRelationship, frame_times_s


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


@pytest.mark.parametrize("name", ["CT_small.dcm", "MR_small.dcm", "rtplan.dcm"])
def test_files_of_other_modalities_are_refused(name: str) -> None:
    # pydicom's own test files.
    with pytest.raises(FileProblem, match="not an X-ray angiographic image"):
        read_run(Path(str(get_testdata_file(name))))


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
    # Reference: pydicom's own decoding.
    reference = pydicom.dcmread(file).pixel_array
    assert np.array_equal(run.stored, reference.astype(np.float32))
    assert run.relationship in {PixelRelationship.LIN, PixelRelationship.LOG}


def test_frame_times_follow_frame_time_and_vector() -> None:
    # PS3.3 C.7.6.5.1: Frame Time in ms; C.7.6.5.2: the first item of the vector is zero.
    regular = Dataset()
    regular.FrameTime = "250"
    assert frame_times_s(regular, 3) == (0.0, 0.25, 0.5)
    odd = Dataset()
    odd.FrameTimeVector = ["0", "500", "250"]
    assert frame_times_s(odd, 3) == (0.0, 0.5, 0.75)
    assert frame_times_s(Dataset(), 3) is None


def test_scale_at_the_isocentre_by_the_worked_example() -> None:
    # CLINICAL.md section 9.1: SID 1100, SOD 750, 0.308 mm -> ERMF 1.4667, 0.2100 mm.
    header = Dataset()
    header.ImagerPixelSpacing = ["0.308", "0.308"]
    header.DistanceSourceToDetector = "1100"
    header.DistanceSourceToPatient = "750"
    geometry = header_geometry(header)
    assert geometry.magnification == pytest.approx(1.4667, abs=5e-5)
    assert geometry.patient_spacing_mm == pytest.approx(0.2100, abs=5e-5)


def test_detector_spacing_alone_is_no_scale() -> None:
    header = Dataset()
    header.ImagerPixelSpacing = ["0.308", "0.308"]
    assert header_geometry(header).patient_spacing_mm is None


def test_every_file_of_pydicom_is_read_or_refused_in_one_sentence() -> None:
    folder = Path(str(get_testdata_file("CT_small.dcm"))).parent
    files = sorted(folder.rglob("*.dcm"))
    assert len(files) > 30
    refusals = [refusal(file) for file in files]
    assert any(refusals)
    for file, sentence in zip(files, refusals, strict=True):
        assert sentence is None or (sentence.startswith(file.name) and "\n" not in sentence)


def refusal(file: Path) -> str | None:
    """The sentence with which a file is refused, or None where it is read."""
    try:
        read_run(file)
    except FileProblem as problem:
        return str(problem)
    return None
