"""Decoding against what was encoded, and the modality transform against worked examples."""

from pathlib import Path

import gdcm  # type: ignore[import-untyped]  # it has no stubs
import numpy as np
import numpy.typing as npt
import pydicom
import pytest
from pydicom.data import get_testdata_file
from pydicom.dataset import Dataset, FileDataset, FileMetaDataset
from pydicom.encaps import encapsulate
from pydicom.sequence import Sequence
from pydicom.uid import (
    UID,
    DeflatedExplicitVRLittleEndian,
    ExplicitVRBigEndian,
    ExplicitVRLittleEndian,
    ImplicitVRLittleEndian,
    JPEG2000Lossless,
    JPEGExtended12Bit,
    JPEGLSLossless,
    JPEGLSNearLossless,
    RLELossless,
    XRayAngiographicImageStorage,
)

from coilwright.errors import FileProblem
from coilwright.venogram import RunFile, read_run
from coilwright.venogram.run_file import PixelRelationship

Pixels = npt.NDArray[np.integer]
FRAMES, ROWS, COLUMNS = 4, 130, 140


def run_pixels(bits: int, *, signed: bool = False) -> Pixels:
    """Every value that the bits can hold appears, the ends among them."""
    low = -(2 ** (bits - 1)) if signed else 0
    ramp = np.linspace(0, 2**bits - 1, FRAMES * ROWS * COLUMNS).round().astype(np.int64) + low
    kind = ("int" if signed else "uint") + ("8" if bits <= 8 else "16")
    return ramp.reshape(FRAMES, ROWS, COLUMNS).astype(kind)


def run_object(pixels: Pixels, bits: int) -> FileDataset:
    meta = FileMetaDataset()
    meta.TransferSyntaxUID = ExplicitVRLittleEndian
    meta.MediaStorageSOPClassUID = XRayAngiographicImageStorage
    meta.MediaStorageSOPInstanceUID = UID("2.25.1")
    dataset = FileDataset("", {}, file_meta=meta, preamble=b"\0" * 128)
    dataset.SOPClassUID, dataset.SOPInstanceUID = XRayAngiographicImageStorage, "2.25.1"
    dataset.Modality = "XA"
    dataset.NumberOfFrames, dataset.Rows, dataset.Columns = pixels.shape
    dataset.SamplesPerPixel, dataset.PhotometricInterpretation = 1, "MONOCHROME2"
    dataset.BitsAllocated, dataset.BitsStored = 8 * pixels.dtype.itemsize, bits
    dataset.HighBit = bits - 1
    dataset.PixelRepresentation = int(pixels.dtype.kind == "i")
    dataset.PixelIntensityRelationship = "LIN"
    dataset.PixelData = pixels.astype(pixels.dtype.newbyteorder("<")).tobytes()
    dataset["PixelData"].VR = "OB" if bits <= 8 else "OW"
    return dataset


def read_back(dataset: FileDataset, folder: Path) -> RunFile:
    file = folder / "run.dcm"
    dataset.save_as(file, enforce_file_format=True)
    return read_run(file)


def codes(run: RunFile) -> list[str]:
    return [notice.code for notice in run.notices]


@pytest.mark.parametrize("signed", [False, True])
@pytest.mark.parametrize("bits", [8, 10, 12, 14, 16])
def test_every_depth_signed_or_not_comes_back_as_stored(
    bits: int, signed: bool, tmp_path: Path
) -> None:
    pixels = run_pixels(bits, signed=signed)
    run = read_back(run_object(pixels, bits), tmp_path)
    assert np.array_equal(run.stored, pixels.astype(np.float32))
    # Pixel Representation, PS3.3 C.7.6.3.1: two's complement of Bits Stored.
    low = -(2 ** (bits - 1)) if signed else 0
    assert (run.frames.lowest, run.frames.highest) == (low, low + 2**bits - 1)


@pytest.mark.parametrize("signed", [False, True])
def test_bits_above_the_stored_ones_are_ignored(signed: bool, tmp_path: Path) -> None:
    # PS3.5 8.1.1: bits above High Bit are not part of the value.
    pixels = run_pixels(10, signed=signed)
    dirty = (pixels.astype(np.uint16) & 0x03FF) | 0xA400
    dataset = run_object(pixels, 10)
    dataset.PixelData = dirty.astype("<u2").tobytes()
    run = read_back(dataset, tmp_path)
    assert np.array_equal(run.stored, pixels.astype(np.float32))


@pytest.mark.parametrize(
    ("syntax", "little", "implicit"),
    [
        (ImplicitVRLittleEndian, True, True),
        (ExplicitVRBigEndian, False, False),
        (DeflatedExplicitVRLittleEndian, True, False),
    ],
)
def test_uncompressed_syntaxes_come_back_as_stored(
    syntax: UID, little: bool, implicit: bool, tmp_path: Path
) -> None:
    pixels = run_pixels(12)
    dataset = run_object(pixels, 12)
    dataset.file_meta.TransferSyntaxUID = syntax
    dataset.PixelData = pixels.astype("<u2" if little else ">u2").tobytes()
    file = tmp_path / "run.dcm"
    pydicom.dcmwrite(
        file, dataset, implicit_vr=implicit, little_endian=little, enforce_file_format=True
    )
    assert np.array_equal(read_run(file).stored, pixels.astype(np.float32))


@pytest.mark.parametrize("bits", [8, 12])
@pytest.mark.parametrize("syntax", [RLELossless, JPEGLSLossless, JPEG2000Lossless])
def test_lossless_syntaxes_come_back_as_stored(syntax: UID, bits: int, tmp_path: Path) -> None:
    # Encoders of pydicom (RLE), pyjpegls and pylibjpeg-openjpeg.
    pixels = run_pixels(bits)
    dataset = run_object(pixels, bits)
    dataset.compress(syntax, generate_instance_uid=False)
    run = read_back(dataset, tmp_path)
    assert np.array_equal(run.stored, pixels.astype(np.float32))
    assert "lossy-compression" not in codes(run)


@pytest.mark.parametrize("bits", [8, 12, 16])
@pytest.mark.parametrize(
    "name", ["JPEGLosslessProcess14_1", "JPEGLosslessProcess14", "JPEG2000Lossless"]
)
def test_what_gdcm_encodes_without_loss_comes_back_as_stored(
    name: str, bits: int, tmp_path: Path
) -> None:
    pixels = run_pixels(bits)
    plain, coded = tmp_path / "plain.dcm", tmp_path / "coded.dcm"
    run_object(pixels, bits).save_as(plain, enforce_file_format=True)
    reader = gdcm.ImageReader()
    reader.SetFileName(str(plain))
    assert reader.Read()
    change = gdcm.ImageChangeTransferSyntax()
    change.SetTransferSyntax(gdcm.TransferSyntax(getattr(gdcm.TransferSyntax, name)))
    change.SetInput(reader.GetImage())
    assert change.Change()
    writer = gdcm.ImageWriter()
    writer.SetFileName(str(coded))
    writer.SetFile(reader.GetFile())
    writer.SetImage(change.GetOutput())
    assert writer.Write()
    assert pydicom.dcmread(coded).file_meta.TransferSyntaxUID.is_compressed
    assert np.array_equal(read_run(coded).stored, pixels.astype(np.float32))


def test_near_lossless_pixels_are_said_to_be_lossy(tmp_path: Path) -> None:
    # JPEG-LS with an error bound of 2: PS3.5 A.4.3; the bound is the encoder's own promise.
    pixels = run_pixels(12)
    dataset = run_object(pixels, 12)
    dataset.compress(JPEGLSNearLossless, jls_error=2, generate_instance_uid=False)
    run = read_back(dataset, tmp_path)
    assert np.abs(run.stored - pixels).max() <= 2
    assert "lossy-compression" in codes(run)


def test_a_stated_lossy_ratio_is_passed_on(tmp_path: Path) -> None:
    # PS3.3 C.7.6.1.1.5: "01" once lossy, whatever the present transfer syntax.
    dataset = run_object(run_pixels(8), 8)
    dataset.LossyImageCompression, dataset.LossyImageCompressionRatio = "01", "15"
    notices = read_back(dataset, tmp_path).notices
    assert any("compressed 15 to 1 with loss" in notice.text for notice in notices)


def test_a_syntax_without_decoder_is_named(tmp_path: Path) -> None:
    # Twelve-bit extended JPEG of pydicom's own test file: no decoder among the dependencies.
    frame = pydicom.dcmread(str(get_testdata_file("JPGExtended.dcm")))
    frame.SOPClassUID, frame.Modality = XRayAngiographicImageStorage, "XA"
    assert frame.file_meta.TransferSyntaxUID == JPEGExtended12Bit
    file = tmp_path / "extended.dcm"
    frame.save_as(file)
    with pytest.raises(FileProblem, match=r"PixelData: .*JPEG Extended.*uncompressed"):
        read_run(file)


def test_compressed_rubbish_is_refused(tmp_path: Path) -> None:
    dataset = run_object(run_pixels(8), 8)
    dataset.PixelData = encapsulate([b"\xff\xd8rubbish" * 9] * FRAMES)
    dataset["PixelData"].VR, dataset["PixelData"].is_undefined_length = "OB", True
    dataset.file_meta.TransferSyntaxUID = UID("1.2.840.10008.1.2.4.70")
    with pytest.raises(FileProblem, match="PixelData: pixels cannot be decoded or are cut short"):
        read_back(dataset, tmp_path)


@pytest.mark.parametrize(
    ("rows", "frames", "sentence"),
    [
        (10, FRAMES, "10 x 140 pixels are too few to show a vein"),
        (60000, FRAMES, "60000 x 140 pixels are too many"),
        (1024, 100000, "export the part in which contrast arrives"),
    ],
)
def test_absurd_sizes_are_refused_before_anything_is_decoded(
    rows: int, frames: int, sentence: str, tmp_path: Path
) -> None:
    dataset = run_object(run_pixels(8), 8)
    dataset.Rows, dataset.NumberOfFrames = rows, frames
    with pytest.raises(FileProblem, match=sentence):
        read_back(dataset, tmp_path)


def test_a_slope_and_intercept_are_applied(tmp_path: Path) -> None:
    # PS3.3 C.11.1.1.2: output = slope * stored + intercept; by hand, 100 -> 0.5 * 100 - 7 = 43
    # and 200 -> 93.
    pixels = np.full((FRAMES, ROWS, COLUMNS), 100, np.uint16)
    pixels[0] = 200
    dataset = run_object(pixels, 12)
    dataset.RescaleSlope, dataset.RescaleIntercept = "0.5", "-7"
    run = read_back(dataset, tmp_path)
    assert (np.unique(run.stored[0]).tolist(), np.unique(run.stored[1:]).tolist()) == (
        [93.0],
        [43.0],
    )
    assert (run.frames.lowest, run.frames.highest) == (-7.0, 0.5 * 4095 - 7)


def test_a_display_window_changes_nothing(tmp_path: Path) -> None:
    pixels = run_pixels(12)
    dataset = run_object(pixels, 12)
    dataset.WindowCenter, dataset.WindowWidth = "100", "10"
    assert np.array_equal(read_back(dataset, tmp_path).stored, pixels.astype(np.float32))


def test_a_table_makes_logarithmic_pixels_linear(tmp_path: Path) -> None:
    # PS3.3 C.11.1.1: values before and after the table take its first and last entry; by hand.
    pixels = np.zeros((FRAMES, ROWS, COLUMNS), np.uint8)
    pixels[:, 0, :5] = [9, 10, 11, 12, 13]
    dataset = run_object(pixels, 8)
    dataset.PixelIntensityRelationship = "LOG"
    table = Dataset()
    table.LUTDescriptor, table.ModalityLUTType = [3, 10, 16], "US"
    table.add_new("LUTData", "OW", np.array([5, 700, 60000], "<u2").tobytes())
    dataset.ModalityLUTSequence = Sequence([table])
    run = read_back(dataset, tmp_path)
    assert run.stored[0, 0, :5].tolist() == [5, 5, 700, 60000, 60000]
    assert run.relationship is PixelRelationship.LIN


def test_a_table_that_does_not_fit_is_refused(tmp_path: Path) -> None:
    dataset = run_object(run_pixels(8), 8)
    table = Dataset()
    table.LUTDescriptor, table.ModalityLUTType = [300, 0, 16], "US"
    table.add_new("LUTData", "OW", b"\1\0" * 20)
    dataset.ModalityLUTSequence = Sequence([table])
    with pytest.raises(FileProblem, match="ModalityLUTSequence: the modality transform cannot be"):
        read_back(dataset, tmp_path)
