"""How far over the relaxed vein a coil should be: the local limits as a band and a target."""

from dataclasses import dataclass

from coilwright.protocol import Limit, Protocol

OVERSIZE_LIMITS = (
    "coil-oversize-min",
    "coil-oversize-max",
    "coil-oversize-min-mm",
    "coil-oversize-max-mm",
)

PLUG_LIMITS = ("plug-oversize-min", "plug-oversize-max")


@dataclass(frozen=True, slots=True, kw_only=True)
class OversizeBand:
    """Coil diameters for one relaxed calibre: least, aimed at, and most before it stretches out."""

    least_mm: float
    target_mm: float
    most_mm: float


def oversize_band(relaxed_mm: float, protocol: Protocol) -> OversizeBand:
    """The band of coil diameters for a relaxed vein of ``relaxed_mm``.

    Practice is stated two ways, as a percentage and as millimetres; a diameter inside either is
    inside the band. The target is the middle of the percentages, never over the most.
    """
    low, high, low_mm, high_mm = (protocol.limit(id).value for id in OVERSIZE_LIMITS)
    most_mm = max(relaxed_mm * (1 + high / 100.0), relaxed_mm + high_mm)
    return OversizeBand(
        least_mm=min(relaxed_mm * (1 + low / 100.0), relaxed_mm + low_mm),
        target_mm=min(relaxed_mm * (1 + (low + high) / 200.0), most_mm),
        most_mm=most_mm,
    )


def plug_band(relaxed_mm: float, protocol: Protocol) -> OversizeBand:
    """The band of plug diameters for a relaxed vein of ``relaxed_mm``: percentages alone."""
    low, high = (protocol.limit(id).value for id in PLUG_LIMITS)
    most_mm = relaxed_mm * (1 + high / 100.0)
    return OversizeBand(
        least_mm=relaxed_mm * (1 + low / 100.0),
        target_mm=min(relaxed_mm * (1 + (low + high) / 200.0), most_mm),
        most_mm=most_mm,
    )


def too_narrow_for_mm(coil_mm: float, protocol: Protocol) -> float:
    """The vein below which a coil of ``coil_mm`` lies above the band: there it stretches out."""
    _, high, _, high_mm = (protocol.limit(id).value for id in OVERSIZE_LIMITS)
    return min(coil_mm / (1 + high / 100.0), coil_mm - high_mm)


def oversize_basis(protocol: Protocol) -> tuple[Limit, ...]:
    """The limits that the band rests on."""
    return tuple(protocol.limit(id) for id in OVERSIZE_LIMITS)
