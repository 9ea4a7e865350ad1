"""The desk where the line drops: nothing an official sends is lost, or stored twice."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import FilePayload, Locator, Page, expect

from tests.browser.conftest import PASSWORD, assert_accessible, assert_fits
from tests.events.photographs import telling

Visit = Callable[..., Page]


def at_a_car(page: Page, car: int) -> Page:
    """The official's page of a car, once its script is there."""
    page.goto("/")
    page.locator("main a.primary").first.click()
    page.locator(".queue a").nth(car).click()
    expect(page).to_have_url(re.compile("/entries/"))
    expect(bar(page)).to_be_attached()
    return page


def bar(page: Page) -> Locator:
    return page.locator("#waiting")


def type_total(page: Page, total: str) -> None:
    if not page.get_by_label("or the total").is_visible():
        page.get_by_text("Weigh it again").click()
    page.get_by_label("or the total").fill(total)


def weigh(page: Page, total: str) -> None:
    type_total(page, total)
    page.get_by_role("button", name="Weigh in").click()


def weighings(page: Page) -> Locator:
    return page.get_by_role("region", name="Weigh-ins").get_by_role("listitem")


@pytest.fixture
def official(visit: Visit) -> Page:
    return at_a_car(visit("ossian"), 4)


def sign_in_here(page: Page, who: str) -> None:
    """Somebody else takes the tablet."""
    page.goto("/accounts/logout/")
    out = page.get_by_role("main").get_by_role("button", name="Sign out")
    if out.count():
        out.click()
        expect(page).not_to_have_url(re.compile("/accounts/logout"))
    page.goto("/accounts/login/")
    page.get_by_label("Email").fill(f"{who}@alder-hollow.example")
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page).not_to_have_url(re.compile("/accounts/login"))


def test_what_was_typed_without_a_line_is_sent_once_in_order(official: Page) -> None:
    page = official
    before = weighings(page).count()
    page.context.set_offline(True)
    weigh(page, "151.5 kg")
    expect(bar(page)).to_contain_text("1 record waits on this device")
    expect(page.get_by_label("or the total")).to_have_value("")
    weigh(page, "152.5 kg")
    expect(bar(page)).to_contain_text("2 records wait on this device")
    expect(bar(page).get_by_role("listitem").first).to_contain_text("or the total 151.5 kg")
    assert_accessible(page)
    assert_fits(page)
    page.context.set_offline(False)
    expect(bar(page)).to_contain_text("All records are sent")
    bar(page).get_by_role("link").first.click()
    expect(weighings(page)).to_have_count(before + 2)
    expect(weighings(page).filter(has_text="made without a connection")).to_have_count(2)
    expect(page.get_by_text(re.compile(r"typed 15\d\.5 kg"))).to_have_text(
        ["typed 152.5 kg", "typed 151.5 kg"]
    )
    page.reload()
    expect(weighings(page)).to_have_count(before + 2)
    expect(bar(page)).to_be_hidden()


def test_an_answer_that_was_lost_makes_no_second_record(official: Page) -> None:
    page, lost = official, []
    before = weighings(page).count()

    def lose(route: Any) -> None:
        lost.append(route.fetch().status)
        route.abort()

    page.route("**/weigh", lose, times=1)
    weigh(page, "150.5 kg")
    expect(bar(page)).to_contain_text("1 record waits")
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(bar(page)).to_contain_text("All records are sent")
    page.reload()
    expect(weighings(page)).to_have_count(before + 1)
    assert lost == [200]


def test_a_refused_one_stays_with_its_reason_until_it_is_mended(official: Page) -> None:
    page = official
    before = weighings(page).count()
    page.context.set_offline(True)
    weigh(page, "15 kg")
    weigh(page, "16 kg")
    expect(bar(page)).to_contain_text("2 records wait")
    page.context.set_offline(False)
    expect(bar(page).get_by_text("Refused: Total: 15 kg cannot be right")).to_be_visible()
    expect(bar(page).get_by_text("Refused: Total: 16 kg")).to_be_visible()
    assert_accessible(page)
    page.reload()
    expect(bar(page).get_by_role("listitem")).to_have_count(2)
    first, second = bar(page).get_by_role("listitem").all()
    second.get_by_role("button", name="Let it go").click()
    second.get_by_role("button", name="Really let it go?").click()
    expect(bar(page).get_by_role("listitem")).to_have_count(1)
    first.get_by_role("button", name="Mend it").click()
    expect(page.get_by_label("or the total")).to_have_value("15 kg")
    weigh(page, "153.5 kg")
    expect(weighings(page)).to_have_count(before + 1)
    expect(bar(page)).to_be_hidden()


def test_with_a_line_a_mistake_comes_back_in_its_form(official: Page) -> None:
    page = official
    weigh(page, "heavy")
    expect(page.get_by_text("Not kept yet. Mend what is wrong:")).to_be_visible()
    expect(page.get_by_label("or the total")).to_have_value("heavy")
    expect(bar(page)).to_be_hidden()


def test_a_look_waits_with_its_photo_and_another_official_does_not_send_it(visit: Visit) -> None:
    page = at_a_car(visit("ossian"), 5)
    entry = page.url
    page.get_by_role("link", name="Another piece").click()
    expect(bar(page)).to_be_attached()
    page.get_by_label("What stands on it").fill("K-19")
    for group in ("Name or number can be read", "Fixed so that it cannot come loose"):
        page.get_by_role("group", name=group).get_by_label("Yes").check()
    photo: FilePayload = {"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": telling(6)}
    page.get_by_label("Photo").set_input_files(photo)
    page.context.set_offline(True)
    page.get_by_role("button", name="Keep it").click()
    expect(bar(page)).to_contain_text("with a photo")
    page.context.clear_cookies(name="sessionid")
    page.context.set_offline(False)
    expect(bar(page)).to_contain_text("You are signed out")

    sign_in_here(page, "maren")
    page.goto("/events/")
    page.get_by_role("link", name="Lantern Night").first.click()
    page.goto(page.url.rstrip("/") + "/desk")
    expect(bar(page)).to_contain_text("1 record waits for ")
    expect(bar(page)).not_to_contain_text("K-19")

    sign_in_here(page, "ossian")
    page.goto(entry)
    expect(bar(page)).to_contain_text("All records are sent")
    page.reload()
    look = page.locator("#ballast li", has_text="K-19")
    expect(look.get_by_role("img")).to_have_count(1)
    expect(look).to_contain_text("made without a connection")
