"""The desk as an official holds it: what decides is on the first screen, the queue at hand."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, ViewportSize, expect

from tests.browser.conftest import DESKTOP, assert_accessible, assert_fits, assert_for_everybody

Visit = Callable[..., Page]
SMALL: ViewportSize = {"width": 390, "height": 664}
TABLET: ViewportSize = {"width": 820, "height": 1180}


@pytest.fixture
def light(visit: Visit) -> Page:
    """The page of the car that was too light, on a phone of 390 x 664."""
    page = visit("ossian")
    page.set_viewport_size(SMALL)
    page.locator("main a.primary").first.click()
    page.locator(".queue a", has_text="fails").first.click()
    expect(page.locator(".verdict")).to_be_visible()
    return page


def bottom(of: Locator) -> float:
    box = of.bounding_box()
    assert box
    return box["y"] + box["height"]


def test_the_verdict_with_its_weight_is_on_the_first_screen(light: Page) -> None:
    assert light.evaluate("scrollY") == 0
    verdict = light.locator(".verdict")
    expect(verdict).to_contain_text("Fails:")
    expect(verdict).to_contain_text(" lb under ")
    assert bottom(verdict) <= SMALL["height"]
    assert bottom(light.locator(".weights .value").first) <= SMALL["height"]
    assert bottom(light.get_by_role("link", name="Next:")) <= SMALL["height"]


def test_what_meets_is_folded(light: Page) -> None:
    met = light.locator(".met li")
    assert met.count() > 0
    expect(met.first).not_to_be_visible()
    light.locator(".met > summary").click()
    expect(met.first).to_be_visible()


def test_on_a_phone_the_queue_is_a_tap_away(light: Page) -> None:
    expect(light.locator(".queue")).not_to_be_visible()
    light.locator(".to-queue a").click()
    expect(light.get_by_role("heading", name="Tech desk")).to_be_visible()
    expect(light.locator(".queue")).to_be_visible()


@pytest.mark.parametrize("size", [TABLET, DESKTOP], ids=["tablet", "desktop"])
def test_with_room_queue_and_car_stand_side_by_side(light: Page, size: ViewportSize) -> None:
    light.set_viewport_size(size)
    queue = light.locator(".queue").bounding_box()
    car = light.locator(".car-check").bounding_box()
    assert queue
    assert car
    assert queue["x"] + queue["width"] <= car["x"]
    assert light.locator(".queue [aria-current]").count() == 1
    expect(light.locator(".to-queue")).not_to_be_visible()


def test_everybody_can_read_it(light: Page) -> None:
    assert_for_everybody(light)
    light.set_viewport_size({"width": 320, "height": 568})
    assert_fits(light)
    light.locator(".to-queue a").click()
    assert_fits(light)
    assert_accessible(light)
