"""A handler's phone at the scales: weigh, slide, turn, weigh again, learned."""

import re
from collections.abc import Callable

from playwright.sync_api import Page, expect

from tests.browser.conftest import assert_for_everybody

CORNERS = ("LF", "RF", "LR", "RR")
WAYS = re.compile("^(Turn these|Ways to do it)$")
PAGES = ("turn", "what-if", "what-if?LF=1", "ballast", "rods", "marks", "lead")

GEARED = (
    "?driving=11&driven=66&roll_out=34&engine_speed=6000&speed=38"
    "&centre_distance=8+1/2&pitch=3/8+in"
)
SPRUNG = "?corner=RR&rate=125&motion_ratio=0.9&tyre_rate=500"


def open_sheet(page: Page) -> str:
    """The address of a new sheet of the first car, empty, with its own baseline."""
    page.goto("/cars/")
    page.locator("a[href^='/cars/']").filter(has_text=re.compile(r"\d")).first.click()
    page.wait_for_url(re.compile(r"/cars/[0-9a-f-]+/$"))
    close_what_is_open(page)
    page.get_by_role("link", name="New sheet").first.click()
    page.get_by_label("As set").check()
    page.get_by_role("button", name="Open the sheet").last.click()
    page.wait_for_url(re.compile(r"/sheets/[0-9a-f-]+/$"))
    return page.url


def close_what_is_open(page: Page) -> None:
    """A car has one sheet of a kind open at a time; the test before left its own."""
    car = page.url
    as_set = (
        page.locator(".list li")
        .filter(has_text=re.compile("^\\s*As set"))
        .filter(has=page.locator(".state", has_text="open"))
    )
    for address in [line.locator("a").first.get_attribute("href") for line in as_set.all()]:
        page.goto(address or "")
        with page.expect_navigation():
            page.get_by_role("button", name="Close the sheet").click()
        # What was turned asks for readings again, so it is asked once more.
        if page.url.endswith("/bench/done"):
            for name in ("Close the sheet", "all the same"):
                with page.expect_navigation():
                    page.get_by_role("button", name=name).click()
    page.goto(car)


def weigh(page: Page, weights: tuple[str, ...], heights: tuple[str, ...]) -> None:
    for corner, weight, height in zip(CORNERS, weights, heights, strict=True):
        page.locator(f"#weigh [name='weight.{corner}']").fill(weight)
        page.locator(f"#weigh [name='ride-height.{corner}']").fill(height)
    page.get_by_role("button", name="Save the readings").click()
    expect(page.get_by_text("Saved: 8 readings.")).to_be_visible()


def test_an_evening_at_the_scales_on_a_phone(visit: Callable[..., Page]) -> None:
    page = visit("isa", "/")
    sheet = open_sheet(page)
    page.get_by_role("link", name="What to turn").click()
    expect(page.get_by_text("Take the four ride heights and the four weights")).to_be_visible()
    weigh(page, ("78", "66", "106", "70"), ("2 1/4", "2 1/2", "2 1/4", "2 3/4"))
    expect(
        page.get_by_role("heading", name=re.compile("^(Turn these|Ways to do it)$"))
    ).to_be_visible()

    page.goto(f"{sheet}what-if")
    cross = page.locator("#answer b").first
    before = cross.inner_text()
    page.locator("#s-LF").fill("1")
    expect(page.locator("#t-LF")).to_have_text("+1 turn")
    expect(cross).not_to_have_text(before)
    page.locator("#s-RF").fill("-1")
    expect(page.locator("#t-RF")).to_have_text("−1 turn")
    page.get_by_role("button", name="I turned these").click()

    expect(page.get_by_text("The turns are noted.")).to_be_visible()
    expect(page.locator(".state.again")).to_contain_text("weigh again")
    weigh(page, ("80", "64", "104", "72"), ("2 1/4", "2 1/2", "2 1/4", "2 3/4"))
    expect(page.locator(".state.good").filter(has_text="learned")).to_be_visible()


def test_without_a_script_the_evening_goes_by_forms(visit: Callable[..., Page]) -> None:
    page = visit("isa", "/", java_script_enabled=False)
    sheet = open_sheet(page)
    page.goto(f"{sheet}turn")
    weigh(page, ("78", "66", "106", "70"), ("2 1/4", "2 1/2", "2 1/4", "2 3/4"))
    page.goto(f"{sheet}what-if")
    page.locator("#s-LF").focus()
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    page.get_by_role("button", name="Show").click()
    expect(page.locator("#t-LF")).to_have_text("+1 turn")
    page.get_by_role("button", name="I turned these").click()
    expect(page.get_by_text("The turns are noted.")).to_be_visible()


def test_the_tools_are_accessible_and_fit(visit: Callable[..., Page]) -> None:
    page = visit("isa", "/")
    sheet = open_sheet(page)
    page.goto(f"{sheet}turn")
    weigh(page, ("78", "66", "106", "70"), ("2 1/4", "2 1/2", "2 1/4", "2 3/4"))
    for name in PAGES:
        page.goto(sheet + name)
        assert_for_everybody(page)
    page.goto(sheet)
    car = page.locator("a[href^='/cars/']").filter(has_text=re.compile(r"\d")).first
    address = car.get_attribute("href") or ""
    for name in ("learned", "drift", "gearing", f"gearing{GEARED}", "springs", f"springs{SPRUNG}"):
        page.goto(f"{address}{name}")
        assert_for_everybody(page)
