"""The parts of the look in a real browser: legible to everybody, none wider than a phone."""

from collections.abc import Callable

from playwright.sync_api import Page

from tests.browser.conftest import assert_fits, assert_for_everybody


def test_every_part_can_be_read_by_everybody(visit: Callable[..., Page]) -> None:
    page = visit(None, "/look/")
    page.wait_for_function("document.fonts.check('600 17px Hyperlegible')")
    assert_for_everybody(page)


def test_nothing_is_wider_than_320_pixels(visit: Callable[..., Page]) -> None:
    page = visit(None, "/look/")
    page.set_viewport_size({"width": 320, "height": 568})
    assert_fits(page)


def test_a_chosen_scheme_holds_whatever_the_device_says(visit: Callable[..., Page]) -> None:
    ground = "getComputedStyle(document.body).backgroundColor"
    page = visit(None, "/look/?scheme=dark")
    page.emulate_media(color_scheme="light")
    assert page.evaluate(ground) == "rgb(15, 20, 21)"
    page.goto("/look/?scheme=light")
    page.emulate_media(color_scheme="dark")
    assert page.evaluate(ground) == "rgb(255, 255, 255)"


def test_the_menu_is_folded_on_a_phone_and_open_at_a_desk(visit: Callable[..., Page]) -> None:
    phone = visit("isa", "/")
    cars = phone.get_by_role("navigation", name="Main").get_by_role("link", name="Cars")
    assert not cars.is_visible()
    phone.get_by_text("Menu", exact=True).click()
    assert cars.is_visible()
    desk = visit("isa", "/", phone=False)
    cars = desk.get_by_role("navigation", name="Main").get_by_role("link", name="Cars")
    assert cars.is_visible()
    assert not desk.get_by_text("Menu", exact=True).is_visible()


def test_where_light_or_dark_is_chosen_is_for_everybody(visit: Callable[..., Page]) -> None:
    assert_for_everybody(visit("isa", "/me/colours"))
