"""The outbox itself: pages share it, and it outlives a page that goes before it has written."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.outbox import until_nothing_waits, waiting_items
from tests.browser.test_bench import (
    KEPT,
    LF,
    RF,
    box,
    note,
    saved_texts,
    start,
    to_heights,
    type_in,
)
from tests.browser.test_desk_offline import weigh

Visit = Callable[..., Page]

NO_DATABASE = "Object.defineProperty(window, 'indexedDB', { get: () => undefined });"
# Nothing that is written gets on the disk before the page is closed.
NEVER_WRITTEN = """{
  const put = IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = function (row) {
    const asked = put.call(this, row);
    const spin = () => { this.count().onsuccess = spin; };
    spin();
    return asked;
  };
}"""


@pytest.fixture
def phone(visit: Visit) -> tuple[Page, str]:
    """Isa's phone, and the address of a new sheet."""
    page = visit("isa")
    return page, start(page)


def test_a_reading_of_a_page_that_goes_before_it_is_written_is_typed_text_again(
    phone: tuple[Page, str],
) -> None:
    page, sheet = phone
    gone = page.context.new_page()
    gone.add_init_script(NEVER_WRITTEN)
    to_heights(gone, sheet)
    type_in(gone, LF, "2 1/4")
    expect(note(gone, LF)).to_have_text("sending")
    gone.close()
    to_heights(page, sheet)
    expect(box(page, LF)).to_have_value("2 1/4")
    assert waiting_items(page) == []
    box(page, LF).press("Enter")
    expect(note(page, LF)).to_have_text("saved")
    assert saved_texts(page)[0] == "2 1/4"
    drafts = page.evaluate("Object.keys(localStorage).filter((key) => key.startsWith('bench:'))")
    assert drafts == []


def test_a_page_shows_what_another_has_waiting_and_sends_it_when_that_is_gone(
    phone: tuple[Page, str],
) -> None:
    page, sheet = phone
    other = page.context.new_page()
    for each in (page, other):
        to_heights(each, sheet)
    page.context.set_offline(True)
    type_in(other, LF, "2 1/4")
    expect(note(other, LF)).to_have_text(KEPT)
    expect(box(page, LF)).to_have_value("2 1/4")
    other.close()
    page.context.set_offline(False)
    expect(page.locator("#h-ride-heights")).to_have_text("1 of 4", timeout=20_000)
    until_nothing_waits(page)
    assert saved_texts(page)[0] == "2 1/4"


def test_without_a_database_the_bench_works_and_the_desk_has_its_forms(
    phone: tuple[Page, str], visit: Visit
) -> None:
    page, sheet = phone
    page.add_init_script(NO_DATABASE)
    to_heights(page, sheet)
    type_in(page, LF, "2 1/4")
    expect(note(page, LF)).to_have_text("saved")
    page.context.set_offline(True)
    type_in(page, RF, "2 3/8")
    expect(note(page, RF)).to_have_text(KEPT)
    page.context.set_offline(False)
    expect(note(page, RF)).to_have_text("saved", timeout=20_000)
    assert saved_texts(page)[:2] == ["2 1/4", "2 3/8"]

    desk = visit("ossian")
    desk.add_init_script(NO_DATABASE)
    desk.locator("main a.primary").first.click()
    desk.locator(".queue a").nth(1).click()
    weigh(desk, "heavy")
    expect(desk.get_by_text("Not kept yet. Mend what is wrong:")).to_be_visible()
