"""The operator's marks, written into the text of a case file that has none."""

import tomllib

from coilwright.phantom import Truth

# How sure a click on the edge of a bone is: from memory, no source.
MARK_SD_MM = 2.0
RUN_HEAD = "[[runs]]\n"


def marks_of(truth: Truth) -> dict[str, list[float] | float]:
    """What an operator would click on the unsubtracted frame: the two levels that bone shows.

    The ostium is left to the measurement. Points are (x, y) in pixels, rounded as a click is.
    """
    shown = {
        "superior_ramus_edge_px": truth.landmarks.superior_ramus_edge,
        "internal_ring_px": truth.landmarks.internal_ring,
    }
    points: dict[str, list[float] | float] = {
        name: [round(point[0]), round(point[1])]
        for name, point in shown.items()
        if point is not None
    }
    return points | {"sd_mm": MARK_SD_MM} if points else {}


def with_marks(case_text: str, marks: dict[str, list[float] | float]) -> str:
    """The case file with ``marks`` in its only run; every other line stays as it was.

    Raises
    ------
    ValueError
        The text does not hold exactly one run without marks, or the edit changed anything else.
    """
    if case_text.count(RUN_HEAD) != 1:
        raise ValueError("the case file must hold exactly one [[runs]]")
    inside = ", ".join(f"{name} = {value}" for name, value in marks.items())
    edited = case_text.replace(RUN_HEAD, f"{RUN_HEAD}marks = {{ {inside} }}\n")
    expected = tomllib.loads(case_text)
    if "marks" in expected["runs"][0]:
        raise ValueError("the run of the case file has marks already")
    expected["runs"][0]["marks"] = marks
    if tomllib.loads(edited) != expected:
        raise ValueError("the marks changed something else in the case file")
    return edited
