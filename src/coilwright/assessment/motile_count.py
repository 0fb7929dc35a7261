"""The motile sperm of one ejaculate, total and progressive kept apart."""

from coilwright.advice import Status
from coilwright.assessment.findings import SemenSample
from coilwright.protocol import Citation

COUNT = Citation(
    source="volume x concentration x motility, as worked on a published page on total motile count",
    status=Status.PUBLISHED,
)


def motile_count_million(
    *, volume_ml: float, concentration_million_per_ml: float, motility_percent: float
) -> float:
    """Motile sperm of one ejaculate in millions.

    Examples
    --------
    >>> round(motile_count_million(
    ...     volume_ml=3, concentration_million_per_ml=80, motility_percent=66), 1)
    158.4
    """
    return volume_ml * concentration_million_per_ml * motility_percent / 100.0


def count_of_sample_million(sample: SemenSample, motility_percent: float | None) -> float | None:
    """The count of one sample in millions, or None where a factor is not recorded.

    Without sperm there are no motile ones, whatever else is recorded.
    """
    if sample.concentration_million_per_ml == 0:
        return 0.0
    if (
        sample.volume_ml is None
        or sample.concentration_million_per_ml is None
        or motility_percent is None
    ):
        return None
    return motile_count_million(
        volume_ml=sample.volume_ml,
        concentration_million_per_ml=sample.concentration_million_per_ml,
        motility_percent=motility_percent,
    )
