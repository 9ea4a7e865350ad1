"""The pages of clubs, teams and one's own account, as each person meets them."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import TWO_SHAPES, assert_accessible, assert_for_everybody

Visit = Callable[..., Page]


def links(page: Page, start: str) -> list[str]:
    found = page.locator(f'main a[href^="{start}"]').all()
    return sorted({str(a.get_attribute("href")) for a in found})


@pytest.mark.parametrize("who", ["maren", "ossian", "ruben", "isa"])
def test_every_page_is_for_everybody(visit: Visit, who: str) -> None:
    """The start page, and every club's and team's page it leads to, with what they lead to."""
    page = visit(who, "/")
    assert_for_everybody(page, TWO_SHAPES)
    seen = {"/"}
    todo = [*links(page, "/clubs/"), *links(page, "/teams/")[:1]]
    while todo:
        path = todo.pop()
        seen.add(path)
        page.goto(path)
        assert_for_everybody(page, TWO_SHAPES)
        if path.count("/") == 3 and len(seen) < 12:
            deeper = [*links(page, path), *links(page, "/drivers/")[:1]]
            todo += [d for d in deeper if d not in seen and d not in todo]
    assert len(seen) >= 2


def test_ones_own_account_is_for_everybody(visit: Visit) -> None:
    page = visit("isa", "/")
    for path in ("/me/", "/me/name", "/me/units", "/me/tokens/new"):
        page.goto(path)
        assert_for_everybody(page)


def test_a_link_is_copied_by_a_button(visit: Visit) -> None:
    page = visit("maren", "/")
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.get_by_role("link", name="Invite").first.click()
    page.get_by_role("button", name="Make the link").click()
    page.get_by_role("button", name="Copy the link").click()
    expect(page.get_by_role("button", name="Copied")).to_be_visible()
    copied = page.evaluate("navigator.clipboard.readText()")
    assert copied == page.get_by_label("Link").input_value()
    assert "/join/" in copied


def test_removing_asks_once_more_by_keyboard_too(visit: Visit) -> None:
    page = visit("maren", "/")
    page.locator("section[aria-labelledby=my-clubs] a").first.click()
    asks = page.locator("summary").filter(has_text="Give up the role")
    asks.focus()
    assert not page.get_by_role("button", name="Give up the role").is_visible()
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Give up the role").click()
    expect(page.get_by_text("would be without a steward")).to_be_visible()


def test_what_was_typed_stays_when_it_is_refused(visit: Visit) -> None:
    page = visit("maren", "/")
    page.locator("section[aria-labelledby=my-clubs] a").first.click()
    page.get_by_role("link", name="New track").click()
    page.get_by_label("Name of the track").fill("Test Bowl")
    page.get_by_label("Corner radius").fill("30 psi")
    page.get_by_role("button", name="Add the track").click()
    expect(page.get_by_label("Corner radius")).to_have_value("30 psi")
    expect(page.get_by_label("Corner radius")).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_text("psi is for a pressure")).to_be_visible()
    assert_accessible(page)
    page.get_by_label("Corner radius").fill("30 ft")
    page.get_by_role("button", name="Add the track").click()
    expect(page.get_by_text("The track is added.")).to_be_visible()
