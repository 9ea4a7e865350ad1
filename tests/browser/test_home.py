"""Home and car page say what is next: on a phone's first screen, under the thumb, on any width."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, ViewportSize, expect

from tests.browser.conftest import assert_fits

Visit = Callable[..., Page]
PHONE: ViewportSize = {"width": 390, "height": 664}
WIDTHS = (320, 390, 820, 1280)


def bottom(page: Page, selector: str) -> float:
    """How far down the page the first of these ends."""
    box = page.locator(selector).first.bounding_box()
    assert box is not None
    return box["y"] + box["height"]


@pytest.mark.parametrize("who", ["isa", "ossian", "ruben"])
def test_the_next_thing_is_on_the_first_screen(visit: Visit, who: str) -> None:
    page = visit(who, "/")
    page.set_viewport_size(PHONE)
    assert bottom(page, "main .button.primary") < PHONE["height"]
    box = page.locator("main .button.primary").first.bounding_box()
    assert box is not None
    assert box["height"] >= 44


def test_a_car_page_begins_with_it(visit: Visit) -> None:
    page = visit("isa", "/")
    page.set_viewport_size(PHONE)
    page.locator(".car-block h3 a").first.click()
    assert bottom(page, ".car-next .button.primary") < PHONE["height"]
    assert bottom(page, ".car-next .segs") < PHONE["height"]


def test_its_button_leads_to_the_thing_it_names(visit: Visit) -> None:
    page = visit("isa", "/")
    button = page.locator(".car-block .button.primary").first
    name = button.inner_text().split(",")[0].strip()
    assert name.startswith("Measure ")
    button.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(
        name.removeprefix("Measure "), ignore_case=True
    )


def test_they_fit_any_width(visit: Visit) -> None:
    page = visit("isa", "/")
    paths = ["/", "/cars/", page.locator(".car-block h3 a").first.get_attribute("href") or ""]
    for path in paths:
        page.goto(path)
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 664})
            assert_fits(page)


def test_what_is_over_is_folded(visit: Visit) -> None:
    page = visit("isa", "/")
    over = page.locator("details").filter(has_text="What is over")
    expect(over.get_by_role("link").first).to_be_hidden()
    over.locator("summary").click()
    expect(over.get_by_role("link").first).to_be_visible()
