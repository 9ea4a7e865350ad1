"""An evening at the bench in a real browser: typed, tapped, shared, interrupted."""

import itertools
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import (
    PASSWORD,
    assert_accessible,
    assert_fits,
    assert_for_everybody,
    send_form,
)
from tests.browser.outbox import until_nothing_waits, waiting_items

Visit = Callable[..., Page]
LF, RF, LR, RR = (f"ride-height.{spot}" for spot in ("LF", "RF", "LR", "RR"))
KEPT = "kept on this phone, not sent yet"
NUMBERS = itertools.count(901)
# The last step's page has come, and with it those before it.
FETCHED_AHEAD = """() => performance.getEntriesByType("resource")
  .some((each) => each.name.endsWith("/bench/last-check/") && each.responseEnd > 0)"""


def box(page: Page, name: str) -> Locator:
    return page.locator(f'[name="{name}"]')


def note(page: Page, name: str) -> Locator:
    """What the page says of a field: saved, kept, wrong, or a conflict."""
    return page.locator(f"#e-{name.replace('.', '--')}")


def verdict(page: Page, name: str) -> Locator:
    return page.locator(f"#v-{name.replace('.', '--')}")


def start(page: Page) -> str:
    """A new bench of a new car, on which none is open, and the address of its sheet."""
    asked = page.context.request
    add = re.search(r'href="(/teams/[^"]+/cars/new)"', asked.get("/cars/").text())
    assert add
    chassis = re.search(
        r'<select name="chassis".*?value="([0-9a-f-]{36})"', asked.get(add[1]).text(), re.DOTALL
    )
    assert chassis
    car = send_form(page.context, add[1], number=str(next(NUMBERS)), chassis=chassis[1])
    page.goto(f"{car}bench/new")
    page.get_by_role("button", name="Measure", exact=True).click()
    page.wait_for_url(re.compile(r"/bench/tyres/$"))
    return page.url.split("/bench/")[0]


def to_heights(page: Page, sheet: str) -> Page:
    page.goto(f"{sheet}/bench/ride-heights/")
    # The script is there once it has shown its pad.
    expect(page.get_by_role("button", name="Pad", exact=True)).to_be_visible()
    return page


@pytest.fixture
def bench(visit: Visit) -> tuple[Page, str]:
    """Isa's phone on the ride heights of a new sheet."""
    page = visit("isa")
    sheet = start(page)
    return to_heights(page, sheet), sheet


def kept_on_the_phone(page: Page) -> set[str]:
    """The boxes that wait."""
    return {item["body"]["box"] for item in waiting_items(page)}


def type_in(page: Page, name: str, text: str) -> None:
    box(page, name).fill(text)
    box(page, name).press("Enter")


def saved_texts(page: Page) -> list[str]:
    """What the server has: the four heights of a page loaded anew."""
    page.reload()
    return [box(page, name).input_value() for name in (LF, RF, LR, RR)]


def test_a_step_is_typed_with_enter_alone(bench: tuple[Page, str]) -> None:
    page, _ = bench
    box(page, LF).focus()
    for text in ("2 1/4", "2-3/8", "2 5/16", "2.5"):
        page.keyboard.type(text)
        page.keyboard.press("Enter")
    expect(page.locator("#bench-next")).to_be_focused()
    for name in (LF, RF, LR, RR):
        expect(note(page, name)).to_have_text("saved")
    expect(verdict(page, LF)).to_contain_text(re.compile("on target|off by|too close"))
    expect(page.locator("#h-ride-heights")).to_have_text("4 of 4")
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile("/bench/scales/$"))
    expect(page.locator("h1")).to_be_focused()
    page.go_back()
    expect(page).to_have_url(re.compile("/bench/ride-heights/$"))
    assert saved_texts(page) == ["2 1/4", "2-3/8", "2 5/16", "2.5"]
    assert kept_on_the_phone(page) == set()


def test_the_fraction_pad_by_touch(bench: tuple[Page, str]) -> None:
    page, _ = bench
    assert box(page, LF).get_attribute("inputmode") is None
    page.get_by_role("button", name="Pad", exact=True).tap()
    pad = page.get_by_role("group", name="Fraction pad")
    box(page, LF).tap()
    # The phone's own keyboard stays away, a real one still types.
    assert box(page, LF).get_attribute("inputmode") == "none"
    assert box(page, LF).get_attribute("readonly") is None
    for key in ("2", "3/8", "Next field"):
        pad.get_by_role("button", name=key, exact=True).or_(pad.get_by_text(key, exact=True)).tap()
    expect(box(page, RF)).to_be_focused()
    expect(note(page, LF)).to_have_text("saved")

    def tap(*acts: str) -> str:
        for act in acts:
            pad.locator(f'[data-act="{act}"]').tap()
        return box(page, RF).input_value()

    assert tap("digit 2", "part 5") == "2 5/16"
    assert tap("more") == "2 3/8"
    assert tap("less", "less") == "2 1/4"
    assert tap("part 0") == "2"
    assert tap("part 15", "more") == "3"
    assert tap("clear", "part 1") == "1/16"
    assert tap("clear", "digit 1", "point", "digit 5") == "1.5"
    assert tap("back") == "1."
    assert tap("clear", "digit 2", "part 6", "back") == "2"
    assert tap("clear", "digit 2", "part 6", "next") == "2 3/8"
    expect(note(page, RF)).to_have_text("saved")
    expect(box(page, LR)).to_be_focused()
    pads = pad.locator("button:visible")
    sizes = [pads.nth(n).bounding_box() for n in range(pads.count())]
    assert all(size and size["width"] >= 38 and size["height"] >= 44 for size in sizes)
    assert saved_texts(page)[:2] == ["2 3/8", "2 3/8"]
    page.get_by_role("button", name="Pad", exact=True).tap()
    assert box(page, LF).get_attribute("inputmode") is None


def test_the_pad_leaves_the_bar_in_sight_and_can_be_closed(bench: tuple[Page, str]) -> None:
    page, sheet = bench
    switch = page.get_by_role("button", name="Pad", exact=True)
    pad = page.get_by_role("group", name="Fraction pad")
    shown = pad.locator("output")
    switch.tap()
    expect(box(page, LF)).to_be_focused()
    for each in (
        box(page, LF),
        page.locator("#bench-next"),
        switch,
        pad.locator('[data-act="clear"]'),
    ):
        expect(each).to_be_in_viewport(ratio=1)
    bar, keys = page.locator(".bench-bar").bounding_box(), pad.bounding_box()
    assert bar
    assert keys
    assert bar["y"] + bar["height"] <= keys["y"] + 1
    assert (
        pad.locator("button:visible").evaluate_all(
            "all => all.filter(b => b.scrollWidth > b.clientWidth).map(b => b.textContent)"
        )
        == []
    )
    expect(shown).to_have_text("– in")
    page.keyboard.type('2-1/16"')
    expect(shown).to_have_text('2-1/16"')
    pad.locator('[data-act="more"]').tap()
    expect(shown).to_have_text("2 1/8 in")
    page.reload()  # still wanted, but there is nothing yet to write in
    expect(shown).to_have_text("Tap a box")
    expect(pad.locator("button:visible")).to_have_count(1)
    pad.get_by_role("button", name="Close the pad").tap()
    expect(pad).to_be_hidden()
    expect(switch).to_be_focused()
    page.goto(f"{sheet}/bench/tyres/")
    expect(switch).to_have_attribute("aria-pressed", "false")
    switch.tap()
    expect(pad.locator('[data-act="digit 1"]')).to_be_visible()
    expect(pad.locator(".part:visible")).to_have_text(["Clear"])


def test_what_cannot_be_kept_stays_with_the_mending(bench: tuple[Page, str]) -> None:
    page, _ = bench
    type_in(page, LF, "46 9/7")
    expect(note(page, LF)).to_contain_text("not less than one")
    expect(box(page, LF)).to_be_focused()
    expect(page.locator("#bench-message")).to_contain_text("not less than one")
    expect(box(page, LF)).to_have_attribute("aria-invalid", "true")
    expect(box(page, LF)).to_have_value("46 9/7")
    # The rest goes on, and it is still there after a while.
    type_in(page, RF, "2 1/2")
    expect(note(page, RF)).to_have_text("saved")
    page.reload()
    expect(box(page, LF)).to_have_value("46 9/7")
    expect(note(page, LF)).to_contain_text("not less than one")
    type_in(page, LF, "46 8/7")
    expect(page.locator("#bench-message")).to_contain_text("not less than one")
    type_in(page, LF, "2 1/4")
    expect(note(page, LF)).to_have_text("saved")
    expect(page.locator("#bench-message")).to_have_text("")
    expect(box(page, RF)).to_be_focused()
    expect(box(page, LF)).not_to_have_attribute("aria-invalid", "true")
    assert kept_on_the_phone(page) == set()


def test_what_was_refused_stands_apart_from_what_is_on_the_sheet(bench: tuple[Page, str]) -> None:
    page, _ = bench
    step = page.locator("#s-ride-heights")
    type_in(page, LF, "2 1/4")
    expect(note(page, LF)).to_have_text("saved")
    type_in(page, LF, "46 9/7")
    expect(verdict(page, LF)).to_contain_text("Not saved. On the sheet: 2 1/4")
    expect(step).to_contain_text("1 not saved")
    # It stays said while the page asks what others wrote, and on another step.
    with page.expect_response(lambda answer: "/now?" in answer.url):
        pass
    expect(verdict(page, LF)).to_contain_text("Not saved. On the sheet: 2 1/4")
    page.locator("#bench-next").click()
    expect(page.locator("h1")).to_contain_text("Scales")
    expect(step).to_contain_text("1 not saved")
    page.go_back()
    expect(box(page, LF)).to_have_value("46 9/7")
    note(page, LF).get_by_role("button", name="Put back 2 1/4").click()
    expect(box(page, LF)).to_have_value("2 1/4")
    expect(verdict(page, LF)).not_to_contain_text("Not saved")
    expect(step).not_to_contain_text("not saved")
    assert kept_on_the_phone(page) == set()


def test_a_verdict_without_a_line_is_of_what_is_on_the_sheet(bench: tuple[Page, str]) -> None:
    page, _ = bench
    type_in(page, LF, "2 1/4")
    expect(note(page, LF)).to_have_text("saved")
    page.context.set_offline(True)
    type_in(page, LF, "2 1/2")
    expect(note(page, LF)).to_have_text(KEPT)
    expect(verdict(page, LF)).to_contain_text("Not saved yet. On the sheet: 2 1/4")
    expect(page.locator("#s-ride-heights")).to_contain_text("1 not saved yet")
    page.context.set_offline(False)
    expect(note(page, LF)).to_have_text("saved", timeout=20_000)
    expect(verdict(page, LF)).not_to_contain_text("Not saved")
    expect(page.locator("#s-ride-heights")).not_to_contain_text("not saved")


def test_the_sheets_page_says_so_too(bench: tuple[Page, str]) -> None:
    page, sheet = bench
    page.goto(f"{sheet}/readings")
    type_in(page, LF, "46 9/7")
    tally = page.locator("#t-ride-heights")
    expect(tally).to_contain_text("1 not saved")
    type_in(page, RF, "2 3/8")
    expect(tally).to_contain_text("1/4")
    expect(tally).to_contain_text("1 not saved")
    page.context.set_offline(True)
    type_in(page, LR, "2 1/4")
    expect(tally).to_contain_text("2 not saved")
    page.context.set_offline(False)
    type_in(page, LF, "2 1/4")
    expect(tally).to_contain_text("1 not saved")


def test_a_gauge_read_twice_and_an_undo(bench: tuple[Page, str]) -> None:
    page, _ = bench
    type_in(page, LF, "2 1/4")
    type_in(page, LF, "22 1/4")
    expect(note(page, LF)).to_contain_text("cannot be right")
    type_in(page, LF, "2 3/4")
    expect(page.get_by_role("button", name="Put back 2 1/4")).to_be_hidden()
    box(page, LF).focus()
    page.get_by_role("button", name="Put back 2 1/4").click()
    expect(box(page, LF)).to_have_value("2 1/4")
    expect(page.get_by_role("button", name="Put back 2 3/4")).to_be_visible()
    page.locator(".box-more.here summary", has_text="Read it again, Ride height LF").click()
    type_in(page, f"{LF}.2", "2 3/8")
    expect(verdict(page, LF)).to_contain_text("mean 2 5/16 in of 2, spread 1/8 in")


def test_two_phones_see_each_other(bench: tuple[Page, str], visit: Visit) -> None:
    isa, sheet = bench
    jonah = to_heights(visit("jonah"), sheet)
    type_in(isa, LF, "2 1/4")
    expect(box(jonah, LF)).to_have_value("2 1/4")
    expect(note(jonah, LF)).to_have_text("Isa Wrenfield wrote this")
    # Both at once in different boxes; what Isa is typing is not disturbed.
    box(isa, RR).press_sequentially("2 ")
    type_in(jonah, RF, "2 3/8")
    expect(box(isa, RF)).to_have_value("2 3/8")
    expect(box(isa, RR)).to_have_value("2 ")
    expect(isa.locator("#h-ride-heights")).to_have_text("2 of 4")
    isa.keyboard.type("1/2")
    isa.keyboard.press("Enter")
    expect(box(jonah, RR)).to_have_value("2 1/2")


@pytest.mark.parametrize("choice", ["Keep theirs", "Use mine"])
def test_neither_overwrites_the_other_silently(
    bench: tuple[Page, str], visit: Visit, choice: str
) -> None:
    isa, sheet = bench
    jonah = to_heights(visit("jonah"), sheet)
    box(isa, LF).press_sequentially("2 1/")
    type_in(jonah, LF, "2 3/8")
    expect(note(jonah, LF)).to_have_text("saved")
    isa.wait_for_timeout(2500)  # the news is here, and what she types is still hers
    expect(box(isa, LF)).to_have_value("2 1/")
    isa.keyboard.type("4")
    isa.keyboard.press("Enter")
    expect(note(isa, LF)).to_contain_text(
        "Jonah Wrenfield wrote 2 3/8 a moment ago; you typed 2 1/4."
    )
    assert saved_texts(jonah)[0] == "2 3/8"
    isa.reload()  # the question is still there
    expect(note(isa, LF)).to_contain_text("you typed 2 1/4")
    assert_fits(isa)
    note(isa, LF).get_by_role("button", name=choice).click()
    stands = "2 3/8" if choice == "Keep theirs" else "2 1/4"
    expect(box(isa, LF)).to_have_value(stands)
    expect(box(jonah, LF)).to_have_value(stands)
    expect(isa.locator(".conflict")).to_have_count(0)
    assert kept_on_the_phone(isa) == set()
    assert saved_texts(isa)[0] == stands


def test_a_lost_line_loses_nothing(bench: tuple[Page, str]) -> None:
    page, _ = bench
    type_in(page, LF, "2 1/4")
    expect(note(page, LF)).to_have_text("saved")
    page.wait_for_function(FETCHED_AHEAD, timeout=60_000)
    page.context.set_offline(True)
    type_in(page, RF, "2 3/8")
    expect(note(page, RF)).to_have_text(KEPT)
    type_in(page, LR, "2 5/16")
    type_in(page, LR, "2 1/2")  # thought better of it, still without a line
    expect(page.locator("#bench-net")).to_contain_text("kept on this phone")
    # The next step opens all the same.
    page.locator("#bench-next").click()
    expect(page.locator("h1")).to_contain_text("Scales")
    type_in(page, "weight.LF", "74.5")
    expect(note(page, "weight.LF")).to_have_text(KEPT)
    assert kept_on_the_phone(page) == {RF, LR, "weight.LF"}
    page.context.set_offline(False)
    expect(note(page, "weight.LF")).to_have_text("saved", timeout=20_000)
    expect(page.locator("#bench-net")).to_have_text("")
    until_nothing_waits(page)
    page.go_back()
    expect(page.locator("h1")).to_contain_text("Ride heights")
    assert saved_texts(page) == ["2 1/4", "2 3/8", "2 1/2", ""]


def test_a_phone_that_dies_in_the_middle_of_typing_loses_nothing(
    bench: tuple[Page, str], visit: Visit
) -> None:
    page, sheet = bench
    page.context.set_offline(True)
    type_in(page, LF, "2 1/4")
    box(page, RF).press_sequentially("2 3/")
    # The tab is gone, and comes back.
    again = page.context.new_page()
    page.close(run_before_unload=False)
    again.context.set_offline(False)
    to_heights(again, sheet)
    expect(note(again, LF)).to_have_text("saved")
    expect(box(again, RF)).to_have_value("2 3/")
    box(again, RF).press("End")
    again.keyboard.type("8")
    again.keyboard.press("Enter")
    expect(note(again, RF)).to_have_text("saved")
    assert saved_texts(again)[:2] == ["2 1/4", "2 3/8"]


def test_a_session_that_ended_loses_nothing(bench: tuple[Page, str]) -> None:
    page, _ = bench
    page.context.clear_cookies()
    type_in(page, LF, "2 1/4")
    expect(page.locator("#bench-net")).to_contain_text("You are signed out")
    expect(note(page, LF)).to_have_text(KEPT)
    type_in(page, RF, "2 3/8")
    assert_accessible(page)
    page.get_by_role("link", name="Sign in again").click()
    page.get_by_label("Email").fill("isa@alder-hollow.example")
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.locator("form button[type=submit]").first.click()
    page.wait_for_url(re.compile("/bench/ride-heights/$"))
    expect(note(page, LF)).to_have_text("saved")
    expect(note(page, RF)).to_have_text("saved")
    assert kept_on_the_phone(page) == set()
    assert saved_texts(page)[:2] == ["2 1/4", "2 3/8"]


def test_what_one_person_typed_is_not_sent_as_another(bench: tuple[Page, str]) -> None:
    page, sheet = bench
    page.context.clear_cookies()
    type_in(page, LF, "2 1/4")
    expect(note(page, LF)).to_have_text(KEPT)
    page.goto("/accounts/login/")
    page.get_by_label("Email").fill("jonah@alder-hollow.example")
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.locator("form button[type=submit]").first.click()
    page.wait_for_url(lambda url: "/accounts/login" not in url)
    to_heights(page, sheet)
    page.wait_for_timeout(2500)
    expect(box(page, LF)).to_have_value("")
    assert kept_on_the_phone(page) == {LF}


def test_closed_by_somebody_else_while_it_waits(bench: tuple[Page, str], visit: Visit) -> None:
    isa, sheet = bench
    type_in(isa, LF, "2 1/4")
    expect(note(isa, LF)).to_have_text("saved")
    isa.context.set_offline(True)
    type_in(isa, RF, "2 3/8")
    expect(note(isa, RF)).to_have_text(KEPT)
    jonah = visit("jonah", f"{sheet}/bench/done")
    jonah.get_by_role("button", name="Close the sheet").click()
    expect(jonah.get_by_role("button", name="Set the car")).to_be_visible()
    isa.context.set_offline(False)
    expect(isa).to_have_url(re.compile("/bench/done$"))
    expect(isa.locator("#bench-net")).to_contain_text("closed before these were sent")
    expect(isa.locator("#bench-net")).to_contain_text("2 3/8")
    isa.get_by_role("button", name="Let them go").click()
    expect(isa.locator("#bench-net")).to_have_text("")
    assert waiting_items(isa) == []
    assert isa.evaluate("Object.keys(localStorage).filter((k) => k.startsWith('bench:'))") == []


def test_from_found_to_set(bench: tuple[Page, str]) -> None:
    page, sheet = bench
    type_in(page, LF, "2 1/4")
    page.goto(f"{sheet}/bench/last-check/")
    page.get_by_role("checkbox", name=re.compile("Nuts and bolts")).check()
    expect(note(page, "nuts-bolts.car")).to_have_text("saved")
    page.get_by_role("button", name="Finish").click()
    page.get_by_role("button", name="Close the sheet as found").click()
    page.get_by_role("button", name="Set the car").click()
    page.wait_for_url(re.compile(r"/bench/tyres/$"))
    page.locator(".bench-strip summary").click()
    page.locator(".bench-strip a").nth(7).click()
    expect(box(page, LF)).to_have_value("2 1/4")
    page.get_by_text("Note something you turned").click()
    page.get_by_label("How much").fill("1/2")
    page.get_by_role("button", name="Note it").click()
    expect(verdict(page, LF)).to_contain_text("take again: spring seat")
    page.get_by_role("button", name="Same again").click()
    expect(verdict(page, LF)).not_to_contain_text("take again")


def named(item: dict[str, Any]) -> Iterator[str]:
    """Everything in an item, by its name."""
    for name, value in item.items():
        inner = value if name in ("body", "label", "state") else None
        yield from (f"{name}.{each}" for each in inner) if inner else [name]


def test_it_keeps_nothing_but_boxes_on_the_phone(bench: tuple[Page, str]) -> None:
    page, _ = bench
    page.context.set_offline(True)
    type_in(page, LF, "2 1/4")
    expect(note(page, LF)).to_have_text(KEPT)
    known = {
        *("id", "user", "kind", "place", "address", "body.box", "body.text", "body.seen"),
        *("body.again", "label.name", "label.step", "at", "order"),
        *("state.tried", "state.waited", "state.answer"),
    }
    assert [set(named(item)) for item in waiting_items(page)] == [known]
    assert page.evaluate("Object.keys(localStorage).filter((k) => k.startsWith('bench:'))") == []


def test_from_the_cars_to_the_first_step(visit: Visit) -> None:
    page = visit("isa", "/cars/")
    page.get_by_role("link", name="Add a car").first.click()
    page.locator("#id_number").fill(str(next(NUMBERS)))
    page.locator("#id_chassis").select_option(index=1)
    page.get_by_role("button", name="Add the car").click()
    page.get_by_role("link", name="Measure as found").click()
    page.get_by_role("button", name="Measure", exact=True).click()
    expect(page).to_have_url(re.compile(r"/bench/tyres/$"))


def test_accessible_and_fits(visit: Visit) -> None:
    page = visit("isa")
    sheet = start(page)
    for step in ("tyres", "rear-axle", "lead", "ride-heights", "scales", "last-check"):
        page.goto(f"{sheet}/bench/{step}/")
        expect(page.get_by_role("button", name="Pad", exact=True)).to_be_visible()
        assert_for_everybody(page)
    to_heights(page, sheet)
    type_in(page, LF, "46 9/7")
    expect(note(page, LF)).to_contain_text("not less than one")
    type_in(page, RF, "2 1/4")
    expect(note(page, RF)).to_have_text("saved")
    page.get_by_role("button", name="Pad", exact=True).click()
    assert_for_everybody(page)
    page.goto(f"{sheet}/bench/done")
    assert_for_everybody(page)


def test_a_guest_and_a_coach_read_along(bench: tuple[Page, str], visit: Visit) -> None:
    page, sheet = bench
    type_in(page, LF, "2 1/4")
    expect(note(page, LF)).to_have_text("saved")
    for who in ("nan", "ruben"):
        reader = visit(who, f"{sheet}/bench/ride-heights/")
        expect(reader.locator("#bench-form")).to_contain_text("2 1/4")
        expect(box(reader, LF)).to_have_count(0)


def test_without_script_it_is_a_form(visit: Visit, bench: tuple[Page, str]) -> None:
    _, sheet = bench
    page = visit("isa", f"{sheet}/bench/ride-heights/", java_script_enabled=False)
    box(page, LF).fill("2 1/4")
    box(page, RF).fill("46 9/7")
    page.get_by_role("button", name="Save these boxes").click()
    expect(note(page, RF)).to_contain_text("not less than one")
    expect(box(page, RF)).to_have_value("46 9/7")
    expect(box(page, LF)).to_have_value("2 1/4")
    box(page, RF).fill("2 3/8")
    page.locator("#bench-next").click()
    expect(page).to_have_url(re.compile("/bench/scales/$"))
