"""The run as a DICOM object: X-Ray Angiographic Image Storage, multi-frame.

Attributes follow PS3.3 A.14 (X-Ray Angiographic Image IOD) and the modules named beside each
group. The patient, the institution and the equipment are invented.
"""

from pathlib import Path

import numpy as np
from pydicom.dataset import Dataset, FileDataset, FileMetaDataset
from pydicom.sequence import Sequence
from pydicom.tag import Tag
from pydicom.uid import UID, ExplicitVRLittleEndian, XRayAngiographicImageStorage, generate_uid

from coilwright.phantom.geometry import Cone
from coilwright.phantom.render import Rendered
from coilwright.phantom.scene import Scene
from coilwright.phantom.storage import Relationship, Storage

_DATE, _TIME = "20250304", "101500"


def write_run(rendered: Rendered, path: Path) -> None:
    """Write the run as a DICOM file; the same run gives the same bytes."""
    dataset = run_dataset(rendered)
    dataset.save_as(path, enforce_file_format=True)


def run_dataset(rendered: Rendered) -> FileDataset:
    """The DICOM object of a run."""
    scene = rendered.scene
    meta = FileMetaDataset()
    meta.MediaStorageSOPClassUID = XRayAngiographicImageStorage
    meta.MediaStorageSOPInstanceUID = _uid(scene, "instance")
    meta.TransferSyntaxUID = ExplicitVRLittleEndian
    meta.ImplementationClassUID = generate_uid(entropy_srcs=["coilwright.phantom"])
    dataset = FileDataset("", {}, file_meta=meta, preamble=b"\0" * 128)
    dataset.SpecificCharacterSet = "ISO_IR 192"
    _add_patient_and_study(dataset, scene)
    _add_series_and_equipment(dataset, scene)
    _add_acquisition(dataset, scene)
    _add_geometry(dataset, scene.cone)
    _add_frames(dataset, scene)
    _add_pixels(dataset, rendered)
    return dataset


def _uid(scene: Scene, what: str) -> UID:
    return generate_uid(entropy_srcs=["coilwright.phantom", scene.name, repr(scene), what])


def _add_patient_and_study(dataset: Dataset, scene: Scene) -> None:
    """Patient C.7.1.1, General Study C.7.2.1."""
    dataset.PatientName = f"Demo^Run {scene.seed}"
    dataset.PatientID = f"DEMO-{scene.seed:06d}"
    dataset.PatientBirthDate = "19970516"
    dataset.PatientSex = "M"
    dataset.StudyInstanceUID = _uid(scene, "study")
    dataset.StudyDate, dataset.StudyTime = _DATE, _TIME
    dataset.ReferringPhysicianName = "Demo^Referrer"
    dataset.StudyID = f"{scene.seed % 10**6}"
    dataset.AccessionNumber = f"A{scene.seed:07d}"
    dataset.StudyDescription = "Left gonadal venography (invented)"


def _add_series_and_equipment(dataset: Dataset, scene: Scene) -> None:
    """General Series C.7.3.1, General Equipment C.7.5.1, SOP Common C.12.1."""
    dataset.Modality = "XA"
    dataset.SeriesInstanceUID = _uid(scene, "series")
    dataset.SeriesNumber = 1
    dataset.SeriesDescription = scene.name
    dataset.SeriesDate, dataset.SeriesTime = _DATE, _TIME
    dataset.PatientPosition = "HFS"
    dataset.BodyPartExamined = "ABDOMEN"
    dataset.Manufacturer = "Coilwright phantom (computed, no equipment)"
    dataset.ManufacturerModelName = "phantom"
    dataset.InstitutionName = "Demonstration Clinic (invented)"
    dataset.SOPClassUID = XRayAngiographicImageStorage
    dataset.SOPInstanceUID = _uid(scene, "instance")


def _add_acquisition(dataset: Dataset, scene: Scene) -> None:
    """General Image C.7.6.1, Contrast/Bolus C.7.6.4, X-Ray Acquisition C.8.7.2."""
    dataset.InstanceNumber = 1
    dataset.PatientOrientation = ["L", "F"]
    dataset.AcquisitionDate, dataset.AcquisitionTime = _DATE, _TIME
    dataset.ContentDate, dataset.ContentTime = _DATE, _TIME
    dataset.AcquisitionNumber = 1
    dataset.ContrastBolusAgent = "Iodinated contrast (invented)"
    dataset.KVP = 72
    dataset.RadiationSetting = "GR"
    dataset.XRayTubeCurrent = 320
    dataset.ExposureTime = round(scene.frames * 20)
    dataset.AveragePulseWidth = 20
    dataset.RadiationMode = "PULSED"
    dataset.Grid = "IN"
    dataset.DetectorType = "SCINTILLATOR"
    dataset.FocalSpots = 0.6


def _add_geometry(dataset: Dataset, cone: Cone) -> None:
    """XA Positioner C.8.7.5, X-Ray Table C.8.7.4, imager spacing of C.8.7.2."""
    dataset.ImagerPixelSpacing = [cone.imager_spacing_mm, cone.imager_spacing_mm]
    dataset.DistanceSourceToDetector = cone.source_to_detector_mm
    dataset.DistanceSourceToPatient = cone.source_to_isocentre_mm
    dataset.EstimatedRadiographicMagnificationFactor = round(cone.magnification, 6)
    dataset.PositionerMotion = "STATIC"
    dataset.PositionerPrimaryAngle = 0
    dataset.PositionerSecondaryAngle = 0
    dataset.TableMotion = "STATIC"
    dataset.FieldOfViewShape = "RECTANGLE"
    dataset.FieldOfViewDimensions = [
        round(cone.rows * cone.imager_spacing_mm),
        round(cone.columns * cone.imager_spacing_mm),
    ]


def _add_frames(dataset: Dataset, scene: Scene) -> None:
    """Cine C.7.6.5, Multi-frame C.7.6.6, Mask C.7.6.10, X-Ray Collimator C.8.7.3."""
    dataset.NumberOfFrames = scene.frames
    dataset.FrameIncrementPointer = Tag("FrameTime")
    dataset.FrameTime = round(1000.0 / scene.frames_per_s, 4)
    dataset.CineRate = max(1, round(scene.frames_per_s))
    dataset.RecommendedDisplayFrameRate = max(1, round(scene.frames_per_s))
    mask = Dataset()
    mask.MaskOperation = "AVG_SUB"
    mask.MaskFrameNumbers = [1]
    dataset.MaskSubtractionSequence = Sequence([mask])
    dataset.RecommendedViewingMode = "NAT"
    if any(scene.anatomy.blades_px):
        left, top, right, bottom = scene.anatomy.blades_px
        dataset.CollimatorShape = "RECTANGULAR"
        dataset.CollimatorLeftVerticalEdge = left
        dataset.CollimatorRightVerticalEdge = scene.cone.columns + 1 - right
        dataset.CollimatorUpperHorizontalEdge = top
        dataset.CollimatorLowerHorizontalEdge = scene.cone.rows + 1 - bottom


def _back_to_linear(storage: Storage) -> Dataset:
    """The table from stored value to beam intensity, which A.14 asks for where pixels are LOG."""
    intensity = storage.log_intensity(np.arange(storage.white + 1))
    table = np.rint(np.exp(intensity - intensity.max()) * 65535).astype("<u2")
    item = Dataset()
    # PS3.3 C.11.1.1: 65536 entries are written as 0.
    item.LUTDescriptor = [len(table) % 65536, 0, 16]
    item.ModalityLUTType = "US"
    item.LUTExplanation = "beam intensity, linear"
    item.add_new(Tag("LUTData"), "OW", table.tobytes())
    return item


def _add_pixels(dataset: Dataset, rendered: Rendered) -> None:
    """Image Pixel C.7.6.3, X-Ray Image C.8.7.1."""
    storage, scene = rendered.scene.storage, rendered.scene
    dataset.ImageType = ["ORIGINAL", "PRIMARY", "SINGLE PLANE"]
    dataset.PixelIntensityRelationship = storage.relationship.value
    dataset.PixelIntensityRelationshipSign = storage.sign
    dataset.SamplesPerPixel = 1
    dataset.PhotometricInterpretation = storage.photometric.value
    dataset.Rows, dataset.Columns = scene.cone.rows, scene.cone.columns
    dataset.BitsAllocated = 8 if storage.bits_stored == 8 else 16
    dataset.BitsStored = storage.bits_stored
    dataset.HighBit = storage.bits_stored - 1
    dataset.PixelRepresentation = 0
    dataset.LossyImageCompression = "00"
    if storage.relationship is Relationship.LOG:
        dataset.ModalityLUTSequence = Sequence([_back_to_linear(storage)])
    low, high = np.percentile(rendered.frames[0], [1, 99])
    dataset.WindowCenter = round(float(low + high) / 2)
    dataset.WindowWidth = max(2, round(float(high - low) * 1.2))
    stored_as = np.uint8 if storage.bits_stored == 8 else np.dtype("<u2")
    pixels = rendered.frames.astype(stored_as).tobytes()
    dataset.PixelData = pixels + b"\0" * (len(pixels) % 2)
