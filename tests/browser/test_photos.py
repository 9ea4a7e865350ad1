"""A photo of a piece of ballast, from the phone's camera to the page of the car."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import assert_accessible, assert_fits
from tests.events.photographs import jpeg, telling

Visit = Callable[..., Page]
LOADED = "image => image.complete && image.naturalWidth > 0"


def picture(content: bytes, name: str = "IMG_0001.jpg", kind: str = "image/jpeg") -> Any:
    return {"name": name, "mimeType": kind, "buffer": content}


def at_the_car(visit: Visit, *, number: str = "", phone: bool = True) -> Page:
    """The official at a car of the queue, by its number or one of them."""
    page = visit("ossian", "/", phone=phone)
    page.locator("main a.primary").first.click()
    queue = page.locator(".queue a")
    (
        queue.filter(has_text=re.compile(rf"^\s*{number}\b")) if number else queue.nth(3)
    ).first.click()
    page.wait_for_url("**/entries/**")
    return page


def look_at_a_piece(page: Page) -> None:
    """Opens the form for the first piece and answers what must be answered."""
    page.get_by_role("link", name=re.compile("^Fixed, marked")).first.click()
    page.get_by_label("Weighed").fill("8.1 lb")
    for group in ("Name or number can be read", "Fixed so that it cannot come loose"):
        page.get_by_role("group", name=group).get_by_label("Yes").check()


@pytest.mark.parametrize("phone", [True, False])
def test_a_photo_comes_with_the_look_and_another_after_it(visit: Visit, phone: bool) -> None:
    page = at_the_car(visit, phone=phone)
    look_at_a_piece(page)
    box = page.get_by_label("Photo")
    assert (box.get_attribute("capture"), box.get_attribute("type")) == ("environment", "file")
    expect(page.get_by_text("Photograph the piece, not the child.")).to_be_visible()
    assert_accessible(page)
    box.set_input_files(picture(telling(6)))
    page.get_by_role("button", name="Keep it").click()
    page.wait_for_url("**/entries/**#ballast")

    look = page.locator("#ballast li", has_text="weighs 8.1 lb").first
    shown = look.get_by_role("img")
    expect(shown).to_have_count(1)
    shown.scroll_into_view_if_needed()
    expect(shown).to_have_js_property("complete", True)
    assert shown.evaluate(LOADED)
    # Held upright: the phone lay on its side.
    assert shown.evaluate("image => image.naturalHeight > image.naturalWidth")

    look.get_by_role("link", name=re.compile("^Add a photo")).click()
    page.get_by_label("Photo").set_input_files(picture(jpeg()))
    page.get_by_role("button", name="Keep it").click()
    page.wait_for_url("**/entries/**#ballast")
    look = page.locator("#ballast li", has_text="weighs 8.1 lb").first
    expect(look.get_by_role("img")).to_have_count(2)
    assert_fits(page)
    assert_accessible(page)


def test_a_photo_opens_with_the_keyboard_and_leads_back(visit: Visit) -> None:
    page = at_the_car(visit)
    look_at_a_piece(page)
    page.get_by_label("Photo").set_input_files(picture(jpeg(1200, 900)))
    page.get_by_role("button", name="Keep it").click()
    page.wait_for_url("**/entries/**#ballast")
    small = page.locator("#ballast .photos a", has=page.get_by_role("img")).first
    assert small.bounding_box()["height"] >= 44  # type: ignore[index]
    small.focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/ballast-photos/**")
    large = page.get_by_role("main").get_by_role("img")
    expect(large).to_have_js_property("complete", True)
    assert large.evaluate(LOADED)
    assert_fits(page)
    assert_accessible(page)
    page.get_by_role("navigation", name="Where you are").get_by_role("link").last.click()
    page.wait_for_url("**/entries/**#ballast")


def test_what_is_no_picture_is_said_and_all_that_was_typed_is_there(visit: Visit) -> None:
    page = at_the_car(visit)
    look_at_a_piece(page)
    page.get_by_label("Photo").set_input_files(picture(b"words", "notes.txt", "text/plain"))
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_text("This is no picture that can be read.")).to_be_visible()
    expect(page.get_by_label("Weighed")).to_have_value("8.1 lb")
    page.get_by_label("Weighed").fill("heavy")
    page.get_by_label("Photo").set_input_files(picture(jpeg()))
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_text("Add the photo again")).to_be_visible()
    assert_accessible(page)
    page.get_by_label("Weighed").fill("8.3 lb")
    page.get_by_label("Photo").set_input_files(picture(jpeg()))
    page.get_by_role("button", name="Keep it").click()
    page.wait_for_url("**/entries/**#ballast")
    look = page.locator("#ballast li", has_text="weighs 8.3 lb").first
    expect(look.get_by_role("img")).to_have_count(1)


def test_the_family_opens_it_and_another_team_does_not(visit: Visit) -> None:
    page = at_the_car(visit, number="31")
    look_at_a_piece(page)
    page.get_by_label("Photo").set_input_files(picture(telling(6)))
    page.get_by_role("button", name="Keep it").click()
    page.wait_for_url("**/entries/**#ballast")
    small = page.locator("#ballast .photos a", has=page.get_by_role("img")).first
    where = small.get_attribute("href")
    assert where
    statuses = {}
    for who in ("isa", "bo", "wim"):
        other = visit(who, "/")
        statuses[who] = other.request.get(where + "photo.jpg").status
    assert statuses["wim"] == 404
    assert sorted((statuses["isa"], statuses["bo"])) == [200, 404]
