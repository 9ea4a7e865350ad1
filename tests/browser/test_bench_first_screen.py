"""What of a step stands on the first screen of a phone, and how one gets from box to box."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, ViewportSize, expect

from tests.browser.conftest import assert_fits
from tests.browser.test_bench import LF, LR, RF, RR, box, note, start, type_in, verdict

Visit = Callable[..., Page]
STEPS = (
    *("tyres", "springs-dampers", "rear-axle", "front-axle", "kingpin", "steering"),
    *("lead", "ride-heights", "scales", "ballast", "gearing", "last-check"),
)
COMMON: ViewportSize = {"width": 390, "height": 664}
SMALL: ViewportSize = {"width": 320, "height": 568}


@pytest.fixture
def sheet(visit: Visit) -> tuple[Page, str]:
    """Isa's phone, and the address of a new sheet."""
    page = visit("isa")
    return page, start(page)


def at(page: Page, sheet: str, step: str, size: ViewportSize) -> Page:
    page.set_viewport_size(size)
    page.goto(f"{sheet}/bench/{step}/")
    expect(page.get_by_role("button", name="Pad", exact=True)).to_be_visible()
    return page


def edges(one: Locator) -> tuple[float, float]:
    """Where it begins and ends on the screen, from its top."""
    found = one.bounding_box()
    assert found
    return found["y"], found["y"] + found["height"]


def bar_top(page: Page) -> float:
    top, bottom = edges(page.locator(".bench-bar"))
    size = page.viewport_size
    assert size
    assert bottom <= size["height"] + 0.5
    return top


@pytest.mark.parametrize(
    ("step", "measure"), [("ride-heights", "ride-height"), ("scales", "weight")]
)
def test_four_boxes_are_whole_on_the_first_screen(
    sheet: tuple[Page, str], step: str, measure: str
) -> None:
    page = at(*sheet, step, COMMON)
    assert page.evaluate("scrollY") == 0
    assert edges(page.locator("h1"))[0] >= 0
    expect(page.locator("h1 .order")).to_be_visible()
    end = bar_top(page)
    for spot in ("LF", "RF", "LR", "RR"):
        top, bottom = edges(page.locator(f"#v-{measure}--{spot}"))
        assert edges(box(page, f"{measure}.{spot}"))[0] > edges(page.locator("h1"))[1]
        assert top < bottom <= end
    assert_fits(page)


def test_every_step_shows_its_first_boxes_without_scrolling(sheet: tuple[Page, str]) -> None:
    for step in STEPS:
        for size in (COMMON, SMALL):
            page = at(*sheet, step, size)
            end = bar_top(page)
            first = page.locator(".bench-boxes").first.locator("[data-bench]")
            row = edges(first.first)
            assert row[0] < 360, step
            for place in range(first.count()):
                top, bottom = edges(first.nth(place))
                if top == row[0]:
                    assert bottom <= end, f"{step} at {size['width']}"
            assert_fits(page)


def test_a_caution_is_one_line_that_opens(sheet: tuple[Page, str]) -> None:
    page = at(*sheet, "springs-dampers", COMMON)
    caution = page.locator(".bench-caution summary")
    top, bottom = edges(caution)
    assert bottom - top <= 45
    caution.click()
    assert edges(caution)[1] > bottom
    expect(caution).to_contain_text("never heat, drill or open a charged damper")


def test_the_tab_key_goes_from_box_to_box(sheet: tuple[Page, str]) -> None:
    page = at(*sheet, "ride-heights", COMMON)
    for name in (LF, RF, LR, RR):
        type_in(page, name, "2 3/8")
        expect(note(page, name)).to_have_text("saved")
    box(page, LF).focus()
    for name in (RF, LR, RR):
        page.keyboard.press("Tab")
        expect(box(page, name)).to_be_focused()
    for name in (LR, RF, LF):
        page.keyboard.press("Shift+Tab")
        expect(box(page, name)).to_be_focused()


def test_what_is_not_needed_shows_only_at_the_box_one_is_at(sheet: tuple[Page, str]) -> None:
    page = at(*sheet, "ride-heights", COMMON)
    again = page.get_by_text("Read it again, Ride height RF")
    expect(again).to_be_hidden()
    box(page, RF).focus()
    expect(again).to_be_visible()
    box(page, LR).focus()
    expect(again).to_be_hidden()


def test_only_an_exception_is_loud(sheet: tuple[Page, str]) -> None:
    page = at(*sheet, "ride-heights", COMMON)
    edge = "field => getComputedStyle(field).borderTopWidth"
    for text, state, width in (("2 1/4", "good", 2), ("3", "bad", 3)):
        type_in(page, LF, text)
        expect(verdict(page, LF).locator(f".state.{state}")).to_be_visible()
        assert float(box(page, LF).evaluate(edge).removesuffix("px")) <= width
        assert (float(box(page, LF).evaluate(edge).removesuffix("px")) == 3) == (state == "bad")
    type_in(page, LF, "46 9/7")
    expect(note(page, LF)).to_contain_text("not less than one")
    expect(verdict(page, LF).locator(".gauge")).to_be_hidden()


def test_what_is_pressed_is_large_enough_for_gloves(sheet: tuple[Page, str]) -> None:
    page = at(*sheet, "ride-heights", SMALL)
    type_in(page, LF, "46 9/7")
    expect(note(page, LF)).to_contain_text("not less than one")
    page.locator(".bench-strip summary").click()
    pressed = page.locator(
        "#bench input:visible, #bench button:visible, #bench summary:visible, "
        ".bench-bar a:visible, .bench-strip a:visible"
    )
    small = [
        each.inner_text()
        for each in pressed.all()
        if each.get_attribute("tabindex") != "-1"
        and (each.bounding_box() or {"height": 0})["height"] < 44
    ]
    assert small == []


def test_the_mark_of_last_time_stays_when_a_reading_is_saved(visit: Visit) -> None:
    page = visit("isa", "/cars/")
    link = re.search(r"/sheets/[0-9a-f-]+/bench/", page.content())
    assert link
    page.goto(f"{link[0]}ride-heights/")
    expect(page.get_by_role("button", name="Pad", exact=True)).to_be_visible()
    mark = verdict(page, LF).locator(".gauge .before")
    expect(mark).to_have_count(1)
    stood = box(page, LF).input_value()
    type_in(page, LF, "2.25" if stood == "2 1/4" else "2 1/4")
    expect(note(page, LF)).to_have_text("saved")
    expect(mark).to_have_count(1)
