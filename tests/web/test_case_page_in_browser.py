"""The case page in a real browser: seen, pointed at, used by keyboard, and without scripts."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, FloatRect, Page, ViewportSize, expect

from cli.served import served
from demo.ready import ReadyDemo

pytestmark = pytest.mark.xdist_group("demo")

CLINIC: ViewportSize = {"width": 1280, "height": 800}
SIZES = ((1280, 800), (1920, 1080), (820, 1180))


@pytest.fixture(scope="module")
def address(demo: ReadyDemo, coilwright_program: Path) -> Iterator[str]:
    with served([coilwright_program, "serve", demo.folder, "--port", "0"]) as server:
        yield server.address


@pytest.fixture
def page(browser: Browser, address: str) -> Iterator[Page]:
    """The page at 1280 x 800; anything that the browser complains of is a failure."""
    context = browser.new_context(viewport=CLINIC)
    page = context.new_page()
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("requestfailed", lambda request: complaints.append(request.url))
    page.goto(address, wait_until="networkidle")
    yield page
    assert complaints == []
    context.close()


def box(page: Page, selector: str) -> FloatRect:
    found = page.locator(selector).first.bounding_box()
    assert found is not None, selector
    return found


def test_what_matters_stands_above_the_fold(page: Page) -> None:
    # DESIGN section 5: at 1280 x 800 picture upper left, vein under it, totals and plan right.
    for selector in ("h1", ".open", "#stage", "#straightened svg", ".totals", "#place"):
        seen = box(page, selector)
        assert seen["y"] >= 0, selector
        assert seen["y"] + seen["height"] <= CLINIC["height"], selector
    for heading in page.locator(".steps h3").all():
        where = heading.bounding_box()
        assert where is not None
        assert where["y"] + where["height"] <= CLINIC["height"]
    picture, vein, totals, plan = (
        box(page, s) for s in ("#picture", ".straightened", ".totals", ".plan")
    )
    assert picture["y"] + picture["height"] <= vein["y"]
    assert picture["x"] + picture["width"] <= totals["x"]
    assert vein["width"] == pytest.approx(picture["width"], abs=1)
    assert totals["y"] + totals["height"] <= plan["y"]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_nothing_sticks_out_sideways(
    width: int, height: int, scheme: str, browser: Browser, address: str
) -> None:
    with browser.new_context(
        viewport={"width": width, "height": height},
        color_scheme="dark" if scheme == "dark" else "light",
    ) as context:
        page = context.new_page()
        page.goto(address, wait_until="networkidle")
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        # The ground itself follows the scheme: bright in light, dark in dark.
        ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
        channels = [int(n) for n in re.findall(r"\d+", ground)]
        assert (max(channels) < 60) if scheme == "dark" else (min(channels) > 200)


def test_controls_are_large_enough_for_a_gloved_finger(page: Page) -> None:
    # WCAG 2.2, 2.5.5 (AAA): targets of at least 44 by 44 CSS pixels.
    for selector in ("#frame", "#frame-play", "#place", "#map-check", ".choice label", "summary"):
        assert box(page, selector)["height"] >= 44, selector


def test_frames_are_scrubbed_by_keyboard(page: Page) -> None:
    slider = page.locator("#frame")
    slider.focus()
    page.keyboard.press("Home")
    expect(page.locator("#frame-words")).to_have_text(re.compile(r"^frame 1 of 24, 0\.0 s"))
    page.keyboard.press("ArrowRight")
    expect(page.locator("#frame-words")).to_have_text(re.compile(r"^frame 2 of 24"))
    expect(page.locator("#frame-picture")).to_have_attribute("href", "/frames/1?view=subtracted")
    expect(slider).to_have_attribute("aria-valuetext", re.compile(r"^frame 2 of 24"))


def test_the_unsubtracted_view_moves_the_map_with_the_breath(page: Page) -> None:
    page.get_by_text("Unsubtracted").click()
    expect(page.locator("#frame-picture")).to_have_attribute("href", re.compile(r"view=raw$"))
    moved = page.locator("#over").get_attribute("transform")
    page.get_by_text("Subtracted", exact=True).click()
    expect(page.locator("#over")).to_have_attribute("transform", "translate(0 0)")
    # The demo breathes, so the frame filled best does not lie where the mask lay.
    assert moved not in (None, "translate(0 0)")


def test_play_steps_through_frames_until_it_is_stopped(page: Page) -> None:
    play = page.get_by_role("button", name="Play")
    before = page.locator("#frame-words").text_content()
    play.click()
    expect(page.get_by_role("button", name="Stop")).to_have_attribute("aria-pressed", "true")
    expect(page.locator("#frame-words")).not_to_have_text(before or "")
    page.get_by_role("button", name="Stop").click()
    expect(page.get_by_role("button", name="Play")).to_have_attribute("aria-pressed", "false")


def test_the_map_can_be_taken_off_the_picture(page: Page) -> None:
    page.get_by_text("Map over it").click()
    expect(page.locator("#vessels")).to_have_attribute("visibility", "hidden")


def test_a_place_chosen_by_keyboard_shows_in_picture_drawing_and_words(page: Page) -> None:
    page.locator("#place").focus()
    page.keyboard.press("Home")
    page.keyboard.press("ArrowRight")
    expect(page.locator("#place-mark")).to_be_visible()
    line = page.locator("#straightened line.place")
    expect(line).to_have_attribute("visibility", "visible")
    expect(page.locator("#place-words")).to_have_text(re.compile(r"mm from .*: .*(mm|measured)$"))


def test_pointing_at_the_drawing_marks_the_picture_and_the_other_way_round(page: Page) -> None:
    drawing = box(page, "#straightened svg")
    for share in (0.35, 0.75):
        page.mouse.move(
            drawing["x"] + share * drawing["width"], drawing["y"] + 0.4 * drawing["height"]
        )
        line = box(page, "#straightened line.place")
        # The line stands under the pointer: samples are about a millimetre apart.
        middle = line["x"] + line["width"] / 2
        assert middle == pytest.approx(drawing["x"] + share * drawing["width"], abs=6)
    below = box(page, "#place-mark")
    told = page.locator("#place-words").text_content()
    # Nearer the ostium in the picture is nearer the ostium in the drawing.
    stage = box(page, "#stage")
    page.mouse.move(below["x"] + below["width"] / 2, stage["y"] + 0.25 * stage["height"])
    above = box(page, "#place-mark")
    if above["y"] == below["y"]:
        page.mouse.move(stage["x"] + 0.48 * stage["width"], stage["y"] + 0.25 * stage["height"])
        above = box(page, "#place-mark")
    assert above["y"] < below["y"]
    assert page.locator("#place-words").text_content() != told
    assert box(page, "#straightened line.place")["x"] < line["x"]


def test_every_source_is_one_tap_away(page: Page) -> None:
    first = page.locator(".advisory").first
    source = first.get_by_text("Source", exact=True)
    expect(source).to_be_hidden()
    first.locator("summary").click()
    expect(source).to_be_visible()


def test_the_keyboard_shows_where_it_is(page: Page) -> None:
    page.keyboard.press("Tab")
    skip = page.get_by_text("Skip to the plan")
    expect(skip).to_be_focused()
    expect(skip).to_be_in_viewport()
    outline = skip.evaluate("element => getComputedStyle(element).outlineStyle")
    assert outline == "solid"


def test_page_works_without_scripts(browser: Browser, address: str) -> None:
    with browser.new_context(viewport=CLINIC, java_script_enabled=False) as context:
        page = context.new_page()
        page.goto(address)
        expect(page.get_by_role("button", name="Play")).to_have_count(0)
        page.get_by_label("Unsubtracted").check()
        page.get_by_role("button", name="Show this frame").click()
        assert "view=raw" in page.url
        expect(page.locator("#frame-picture")).to_have_attribute("href", re.compile("view=raw"))


def test_print_is_light_and_leaves_the_controls_out(browser: Browser, address: str) -> None:
    with browser.new_context(viewport=CLINIC, color_scheme="dark") as context:
        page = context.new_page()
        page.goto(address, wait_until="networkidle")
        page.emulate_media(media="print", color_scheme="dark")
        ink = page.evaluate("getComputedStyle(document.body).color")
        assert max(int(n) for n in re.findall(r"\d+", ink)) < 80
        for selector in ("#frame-form", "#follow", ".skip"):
            expect(page.locator(selector)).to_be_hidden()
        expect(page.locator("#stage")).to_be_visible()
