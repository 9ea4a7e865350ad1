"""The parts of the look in a real browser: legible to everybody, none wider than a phone."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import check_accessibility


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("phone", [True, False], ids=["phone", "desk"])
def test_every_part_can_be_read(visit: Callable[..., Page], scheme: str, phone: bool) -> None:
    page = visit(None, f"/look/?scheme={scheme}", phone=phone)
    page.wait_for_function("document.fonts.check('600 17px Hyperlegible')")
    check_accessibility(page)


def test_nothing_is_wider_than_320_pixels(visit: Callable[..., Page]) -> None:
    page = visit(None, "/look/")
    page.set_viewport_size({"width": 320, "height": 568})
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0


def test_the_menu_is_folded_on_a_phone_and_open_at_a_desk(visit: Callable[..., Page]) -> None:
    phone = visit("isa", "/")
    cars = phone.get_by_role("link", name="Cars", exact=True)
    assert not cars.is_visible()
    phone.get_by_text("Menu", exact=True).click()
    assert cars.is_visible()
    desk = visit("isa", "/", phone=False)
    assert desk.get_by_role("navigation", name="Main").get_by_role("link", name="Cars").is_visible()
    assert not desk.get_by_text("Menu", exact=True).is_visible()
