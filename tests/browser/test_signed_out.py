"""What was typed outlives the end of a session, for the same person alone."""

from collections.abc import Callable

from playwright.sync_api import Page, expect

from tests.browser.conftest import PASSWORD

Visit = Callable[..., Page]
LINE = "Put back what you typed before you were signed out"


def come_back(page: Page, who: str) -> None:
    page.get_by_label("Email").fill(f"{who}@alder-hollow.example")
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_url(lambda url: "/accounts/login" not in url)


def send_signed_out(page: Page) -> None:
    """Sends a name after the session has ended."""
    page.get_by_label("Your name").fill("Isa of the Hollow")
    page.context.clear_cookies(name="sessionid")
    page.get_by_role("button", name="Save").click()
    page.wait_for_url("**/accounts/login/**")


def test_what_was_typed_is_put_back_and_then_forgotten(visit: Visit) -> None:
    page = visit("isa", "/me/name")
    before = page.get_by_label("Your name").input_value()
    send_signed_out(page)
    come_back(page, "isa")
    expect(page.get_by_text(LINE)).to_be_visible()
    expect(page.get_by_label("Your name")).to_have_value("Isa of the Hollow")
    page.get_by_label("Your name").fill(before)
    page.get_by_role("button", name="Save").click()
    page.wait_for_url("**/me/")
    page.goto("/me/name")
    expect(page.get_by_text(LINE)).to_have_count(0)


def test_somebody_else_on_the_same_device_reads_nothing_of_it(visit: Visit) -> None:
    page = visit("isa", "/me/name")
    send_signed_out(page)
    come_back(page, "nan")
    expect(page.get_by_text(LINE)).to_have_count(0)
    assert page.get_by_label("Your name").input_value() != "Isa of the Hollow"
    kept = page.evaluate("Object.values(sessionStorage).join()")
    assert "Isa of the Hollow" not in kept


def test_a_lost_cookie_leads_back_to_what_was_typed(visit: Visit) -> None:
    page = visit("isa", "/me/name")
    page.get_by_label("Your name").fill("Isa of the Hollow")
    page.context.clear_cookies(name="csrftoken")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("link", name="Back to the form").click()
    expect(page.get_by_text("Put back what you typed.")).to_be_visible()
    expect(page.get_by_label("Your name")).to_have_value("Isa of the Hollow")
