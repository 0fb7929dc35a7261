"""The band of the straightened vein: calibre as width, its uncertainty as a lighter edge."""

from xml.etree.ElementTree import Element

from coilwright.documents.svg_parts import INK, group, line, polygon, text
from coilwright.documents.vein_scale import MIDDLE, VeinScale
from coilwright.veins import Vessel

# Okabe-Ito sky blue and its tint: the vein and its doubt; outlines carry the same without colour.
CORE, EDGE = "#56b4e9", "#cfe6f5"
Sample = tuple[float, float, float]


def draw_band(parent: Element, trunk: Vessel, scale: VeinScale) -> None:
    """The measured stretches as bands, the rest as a dashed line that says so."""
    shape = group(parent, part="band", vessel=trunk.id)
    for stretch in _measured_stretches(trunk):
        for name, sign, fill in (("outer", 1.0, EDGE), ("inner", -1.0, CORE)):
            points = _outline([(at, d + sign * sd) for at, d, sd in stretch], scale)
            polygon(shape, points, fill=fill, part=name)
        outline = _outline([(at, d) for at, d, _ in stretch], scale)
        polygon(shape, outline, fill="none", stroke=INK, part="calibre")
    for from_mm, to_mm in _gaps(trunk):
        start, end = (scale.x(from_mm), MIDDLE), (scale.x(to_mm), MIDDLE)
        line(shape, start, end, dashed=True)
        if end[0] - start[0] > 80:
            text(shape, (start[0] + end[0]) / 2, MIDDLE - 5, "not measured", anchor="middle")


def half_at(trunk: Vessel, arc_mm: float, scale: VeinScale) -> float:
    """Half the drawn width, with its uncertainty, at the sample nearest to an arc."""
    index = min(range(len(trunk.arc_mm)), key=lambda i: abs(trunk.arc_mm[i] - arc_mm))
    diameter_mm, sd_mm = trunk.diameter_mm[index], trunk.diameter_sd_mm[index]
    return scale.half((diameter_mm or 0.0) + (sd_mm or 0.0))


def _measured_stretches(trunk: Vessel) -> list[list[Sample]]:
    stretches: list[list[Sample]] = [[]]
    for at_mm, diameter, sd in zip(
        trunk.arc_mm, trunk.diameter_mm, trunk.diameter_sd_mm, strict=True
    ):
        if diameter is not None:
            stretches[-1].append((at_mm, diameter, sd or 0.0))
        elif stretches[-1]:
            stretches.append([])
    return [stretch for stretch in stretches if len(stretch) > 1]


def _gaps(trunk: Vessel) -> list[tuple[float, float]]:
    """Stretches of the trunk without a calibre, from the last known sample to the next."""
    known = _measured_stretches(trunk)
    ends = [trunk.arc_mm[0], *(s[-1][0] for s in known)]
    starts = [*(s[0][0] for s in known), trunk.arc_mm[-1]]
    return [(end, start) for end, start in zip(ends, starts, strict=True) if start - end > 1e-6]


def _outline(samples: list[tuple[float, float]], scale: VeinScale) -> list[tuple[float, float]]:
    upper = [(scale.x(at), MIDDLE - scale.half(d)) for at, d in samples]
    lower = [(scale.x(at), MIDDLE + scale.half(d)) for at, d in samples]
    return [*upper, *reversed(lower)]
