"""The few shapes that our pictures are drawn from; user text can never become markup."""

from collections.abc import Sequence
from xml.etree.ElementTree import Element, SubElement

Point = tuple[float, float]
INK = "#1c2430"
PAPER = "#ffffff"
FONT_SIZE = 14.0


def group(parent: Element, **data: str) -> Element:
    """A group with what it stands for, as ``data-`` attributes."""
    return SubElement(parent, "g", _data(data))


def line(
    parent: Element,
    start: Point,
    end: Point,
    *,
    width: float = 1.5,
    stroke: str = INK,
    dashed: bool = False,
    **data: str,
) -> None:
    """A straight line."""
    dash = {"stroke-dasharray": "5 4"} if dashed else {}
    attributes = {
        "x1": number(start[0]),
        "y1": number(start[1]),
        "x2": number(end[0]),
        "y2": number(end[1]),
        "stroke": stroke,
        "stroke-width": number(width),
    }
    SubElement(parent, "line", attributes | dash | _data(data))


def polygon(
    parent: Element, points: Sequence[Point], *, fill: str, stroke: str = "none", **data: str
) -> None:
    """A closed shape."""
    listed = " ".join(f"{number(x)},{number(y)}" for x, y in points)
    attributes = {"points": listed, "fill": fill, "stroke": stroke, "stroke-width": "1"}
    SubElement(parent, "polygon", attributes | _data(data))


def rect(
    parent: Element,
    corner: Point,
    size: Point,
    *,
    fill: str,
    stroke: str = "none",
    dashed: bool = False,
    **data: str,
) -> None:
    """A box from its upper left corner."""
    dash = {"stroke-dasharray": "4 3"} if dashed else {}
    attributes = {
        "x": number(corner[0]),
        "y": number(corner[1]),
        "width": number(size[0]),
        "height": number(size[1]),
        "fill": fill,
        "stroke": stroke,
        "stroke-width": "1.5",
    }
    SubElement(parent, "rect", attributes | dash | _data(data))


def circle(parent: Element, centre: Point, radius: float, *, fill: str, stroke: str) -> None:
    """A round badge."""
    attributes = {
        "cx": number(centre[0]),
        "cy": number(centre[1]),
        "r": number(radius),
        "fill": fill,
        "stroke": stroke,
        "stroke-width": "1.5",
    }
    SubElement(parent, "circle", attributes)


def path(parent: Element, course: str, *, width: float = 1.5, dashed: bool = False) -> None:
    """A curve that is not filled."""
    dash = {"stroke-dasharray": "5 4"} if dashed else {}
    attributes = {"d": course, "fill": "none", "stroke": INK, "stroke-width": number(width)}
    SubElement(parent, "path", attributes | dash)


def text(
    parent: Element,
    x: float,
    y: float,
    words: str,
    *,
    anchor: str = "start",
    fill: str = INK,
    bold: bool = False,
    size: float = FONT_SIZE,
) -> None:
    """Words; characters that XML cannot hold are shown as missing ones."""
    attributes = {
        "x": number(x),
        "y": number(y),
        "fill": fill,
        "font-family": "sans-serif",
        "font-size": number(size),
        "text-anchor": anchor,
    }
    weight = {"font-weight": "bold"} if bold else {}
    SubElement(parent, "text", attributes | weight).text = printable(words)


def backed_text(parent: Element, x: float, y: float, words: str) -> None:
    """Words around their middle on a patch of paper, so that no line runs through them."""
    width = text_width(words) + 6
    rect(parent, (x - width / 2, y - 13), (width, 17), fill=PAPER)
    text(parent, x, y, words, anchor="middle")


def printable(words: str) -> str:
    """The words without the control characters that XML 1.0 forbids (its section 2.2)."""
    return "".join(c if c >= " " and not "\ud800" <= c <= "\udfff" else "\ufffd" for c in words)


def text_width(words: str, size: float = FONT_SIZE) -> float:
    """About how wide words are: half its size a letter."""
    return 0.5 * size * len(words)


def number(value: float) -> str:
    """A coordinate to a hundredth."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _data(data: dict[str, str]) -> dict[str, str]:
    return {f"data-{name}": printable(value) for name, value in data.items()}
