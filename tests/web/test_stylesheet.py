"""The stylesheet: colours in one block, and words that can be read on them."""

import re
from importlib import resources

import pytest

STYLE = (resources.files("coilwright.web") / "static" / "coilwright.css").read_text("utf-8")
TOKENS = STYLE.partition(":root {")[2].partition("}")[0]
REST = STYLE.replace(TOKENS, "")
COLOUR = r"#[0-9a-fA-F]{3,8}\b|rgba?\(|hsla?\(|oklch\("
# WCAG 2.2, 1.4.3: contrast of text, level AA.
ENOUGH = 4.5
PAIRS = (
    ("ink", "paper"),
    ("ink", "sheet"),
    ("soft", "paper"),
    ("soft", "sheet"),
    ("link", "sheet"),
    ("on-band", "band"),
    ("soft-on-band", "band"),
    ("ink", "stop-ground"),
    ("stop", "stop-ground"),
    ("ink", "caution-ground"),
    ("caution", "caution-ground"),
    ("link", "caution-ground"),
    ("link", "stop-ground"),
    ("soft", "caution-ground"),
    ("soft", "stop-ground"),
    ("noted", "sheet"),
    ("light-mark", "dark-mark"),
    ("white", "dark-mark"),
)


def colours_of(token: str) -> tuple[str, str]:
    """A token's colour in light and in dark."""
    value = re.search(rf"--{token}: ([^;]+);", TOKENS)
    assert value is not None, token
    both = re.findall(r"#[0-9a-f]{6}", value[1])
    assert len(both) in (1, 2), token
    return both[0], both[-1]


def luminance(colour: str) -> float:
    """Relative luminance of ``#rrggbb``, WCAG 2.2."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, WCAG 2.2."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_computed_as_the_guideline_has_it() -> None:
    # WCAG 2.2: black on white is 21 to 1; #767676 on white is the known lightest grey at 4.54.
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0, abs=1e-9)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize(("words", "ground"), PAIRS)
def test_words_stand_out_from_their_ground_in_light_and_dark(words: str, ground: str) -> None:
    for one, other in zip(colours_of(words), colours_of(ground), strict=True):
        assert contrast(one, other) >= ENOUGH


def test_raw_colours_stand_in_the_token_block_alone() -> None:
    assert re.findall(COLOUR, TOKENS)
    assert re.findall(COLOUR, REST) == []


def test_every_token_that_is_used_is_defined_and_every_defined_one_used() -> None:
    defined = set(re.findall(r"--([\w-]+):", TOKENS))
    used = set(re.findall(r"var\(--([\w-]+)\)", STYLE))
    # The straightened vein takes these two by way of its own attributes.
    assert used | {"vein", "vein-spread"} == defined


def test_nothing_foreign_is_loaded() -> None:
    assert "url(" not in STYLE
    assert "@import" not in STYLE
