"""A sheet to read, in a real browser: near on a desk, whole on a phone, for everybody."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import assert_fits, assert_for_everybody

Visit = Callable[..., Page]
TWO_DESKS = 1900  # px: what is written of one car is near

# Of each line of the table at how many heights its figures stand, and whether all of it is seen.
LINES = """rows => rows.map(row => {
    const sets = [...row.querySelectorAll(".set")].map(one => one.getBoundingClientRect());
    const all = [...sets, row.querySelector(".name").getBoundingClientRect()];
    const tops = sets.filter(one => one.width).map(one => one.top);
    const apart = tops.length ? Math.max(...tops) - Math.min(...tops) : 0;
    return [apart, all.every(one => one.left >= 0 && one.right <= innerWidth + 1)];
})"""


@pytest.fixture
def closed(visit: Visit) -> Page:
    """The last closed sheet of a car of the demo, on a desk."""
    page = visit("isa", "/cars/", phone=False)
    page.get_by_role("link", name="31 Biscuit").first.click()
    page.get_by_role("link", name="As set, ").first.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("as set")
    return page


def test_a_closed_sheet_is_within_reach_on_a_desk(closed: Page) -> None:
    assert closed.locator(".figs [data-box]").count() > 84
    assert closed.evaluate("document.documentElement.scrollHeight") < TWO_DESKS


def test_it_is_for_everybody(closed: Page) -> None:
    assert_for_everybody(closed)


@pytest.mark.parametrize("width", [320, 390, 820])
def test_narrow_screens_have_it_all(closed: Page, width: int) -> None:
    closed.set_viewport_size({"width": width, "height": 800})
    assert_fits(closed)
    rows = closed.locator(".figs tbody tr").evaluate_all(LINES)
    assert len(rows) > 40
    for apart, is_whole in rows:
        assert apart < 8, "the figures of a measure stand side by side"
        assert is_whole


def test_what_is_off_comes_first_and_leads_to_its_line(closed: Page) -> None:
    first = closed.locator(".exceptions a").first
    name = first.inner_text()
    first.click()
    row = closed.locator("tr:target")
    expect(row).to_be_in_viewport()
    assert (row.locator(".name").inner_text().split()[0]) == name.split()[0]


def test_it_is_typed_on_a_page_of_its_own(visit: Visit) -> None:
    page = visit("isa", "/cars/", phone=False)
    page.get_by_role("link", name="31 Biscuit").first.click()
    page.get_by_role("link", name="As found, ").first.click()
    page.get_by_role("link", name="Type the whole sheet").click()
    expect(page.get_by_label("Ride height LF").first).to_be_visible()
    assert_for_everybody(page)
