"""The nest that a coil makes in a vein: length from helix geometry, packing for information.

The derivation stands in docs/nest-length.md.
"""

import math


def nest_length_mm(
    *, coil_diameter_mm: float, wire_mm: float, length_mm: float, vein_mm: float
) -> tuple[float, float]:
    """Shortest and longest nest of one layer: close-wound, and drawn out in a narrower vein.

    ``coil_diameter_mm`` is the nominal outer diameter of the loops, ``wire_mm`` the primary wind,
    ``length_mm`` the wire's length, ``vein_mm`` the relaxed calibre. A loop keeps its own length;
    in a vein narrower than the coil it can only do so by climbing along the vein.

    Raises
    ------
    ValueError
        A value that is not positive, or a wire as thick as the coil or the vein.

    Examples
    --------
    >>> low, high = nest_length_mm(
    ...     coil_diameter_mm=8.0, wire_mm=0.889, length_mm=140.0, vein_mm=6.4)
    >>> round(low, 1), round(high, 1)
    (7.2, 88.5)
    """
    if not (wire_mm > 0 and length_mm > 0):
        raise ValueError(f"wire and length must be positive, got {wire_mm} and {length_mm}")
    if not min(coil_diameter_mm, vein_mm) > wire_mm:
        raise ValueError(f"a wire of {wire_mm:g} mm makes no loop in {vein_mm:g} mm")
    free_mm = coil_diameter_mm - wire_mm
    held_mm = min(free_mm, vein_mm - wire_mm)
    close_wound_mm = length_mm * wire_mm / math.hypot(math.pi * held_mm, wire_mm)
    drawn_out_mm = length_mm * math.sqrt(1.0 - (held_mm / free_mm) ** 2)
    return close_wound_mm, max(close_wound_mm, drawn_out_mm)


def packing_percent(
    *, wire_mm: float, length_mm: float, vein_mm: float, segment_mm: float
) -> float:
    """Coil volume over vein volume of a segment, per cent.

    No threshold of packing exists for gonadal veins, and fibred coils close at far lower values:
    information only.

    References
    ----------
    Ratio of coil volume to the volume of the segment filled: Vogler et al., Am J Interv Radiol
    2020;4:2 (restated in CLINICAL.md section 4.2).

    Examples
    --------
    >>> round(packing_percent(wire_mm=0.889, length_mm=140, vein_mm=8, segment_mm=15), 2)
    11.53
    """
    if not min(wire_mm, length_mm, vein_mm, segment_mm) > 0:
        raise ValueError("packing needs positive lengths")
    return 100.0 * wire_mm**2 * length_mm / (vein_mm**2 * segment_mm)
