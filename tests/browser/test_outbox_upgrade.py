"""What waits on a device as the release before kept it is taken over, and sent exactly once."""

import re
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from playwright.sync_api import BrowserContext, FilePayload, Page, Request, expect

from tests.browser.outbox import (
    earlier_readings,
    earlier_records,
    until_nothing_waits,
    waiting_items,
)
from tests.browser.test_bench import LF, LR, RF, RR, box, note, saved_texts, start, to_heights
from tests.browser.test_desk_offline import at_a_car, bar, sign_in_here, type_total, weighings
from tests.events.photographs import telling

Visit = Callable[..., Page]

# A reading, as the bench wrote it: the key and what stood there.
KEEP_READING = """([sheet, user, item]) => {
  localStorage.setItem(`bench:${user}:${sheet}:item:${item.id}`, JSON.stringify(item));
}"""
# A record, as the desk wrote it: its own database, one row a form that was sent.
KEEP_RECORD = """([choose, more]) => new Promise((resolve, reject) => {
  const form = document.querySelector(choose);
  const record = {
    id: form.elements.row_id.value,
    viewer: document.body.dataset.viewer,
    who: "Ossian",
    action: new URL(form.getAttribute("action") || location.href, location.href).pathname,
    page: form.dataset.outboxPage ?? location.pathname + location.search,
    fields: [...new FormData(form)].filter(([name]) => name !== "csrfmiddlewaretoken"),
    title: form.dataset.outbox,
    words: "or the total 151.5 kg",
    at: Date.now(),
    waited: true,
    ...more,
  };
  const asked = indexedDB.open("desk", 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore("records", { keyPath: "id" });
  asked.onerror = () => reject(asked.error);
  asked.onsuccess = () => {
    const work = asked.result.transaction("records", "readwrite");
    work.objectStore("records").put(record);
    work.oncomplete = () => { asked.result.close(); resolve(record.id); };
  };
})"""
NO_LOCKS = "Object.defineProperty(Navigator.prototype, 'locks', { get: () => undefined });"
# The copy never reaches the disk: its transaction stays open until the page is closed.
STOPS_COPYING = """{
  const put = IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = function (row) {
    const asked = put.call(this, row);
    if (this.name !== "items") return asked;
    const spin = () => { this.count().onsuccess = spin; };
    spin();
    document.documentElement.dataset.at = "copying";
    return asked;
  };
}"""
# The copy is on the disk, and what was there before is not deleted any more; nothing is sent.
STOPS_DELETING = """{
  const stop = () => {
    document.documentElement.dataset.at = "deleting";
    throw new Error("closed here");
  };
  const removeItem = Storage.prototype.removeItem;
  Storage.prototype.removeItem = function (key) {
    return key.includes(":item:") ? stop() : removeItem.call(this, key);
  };
  const remove = IDBObjectStore.prototype.delete;
  IDBObjectStore.prototype.delete = function (key) {
    return this.name === "records" ? stop() : remove.call(this, key);
  };
  window.fetch = () => new Promise(() => {});
}"""


class Sent:
    """What a browser sent from now on, by the ids in it."""

    def __init__(self, context: BrowserContext) -> None:
        self.bodies: list[bytes] = []
        context.on("request", self._note)

    def _note(self, request: Request) -> None:
        if request.method == "POST":
            self.bodies.append(request.post_data_buffer or b"")

    def times(self, item: str) -> int:
        return sum(item.encode() in body for body in self.bodies)


def keep_reading(page: Page, sheet: str, name: str, text: str, **more: Any) -> str:
    """A reading of this person waits as the release before kept it; its id."""
    user = page.locator("body").get_attribute("data-viewer")
    now = page.evaluate("Date.now()")
    item = {
        "id": str(uuid4()),
        "box": name,
        "name": f"Ride height {name[-2:]} in",
        "text": text,
        "seen": "none",
        "again": False,
        "at": now,
        "order": now + 0.001,
        "step": {"slug": "ride-heights", "name": "Ride heights"},
        **more,
    }
    page.evaluate(KEEP_READING, [sheet.rsplit("/", 1)[-1], user, item])
    return str(item["id"])


def keep_record(page: Page, form: str = "form.weigh", **more: Any) -> str:
    """What the form holds waits as the release before kept it; its id."""
    found: str = page.evaluate(KEEP_RECORD, [form, more])
    return found


@pytest.fixture
def phone(visit: Visit) -> tuple[Page, str]:
    """Isa's phone, with no page of the bench open, and the address of a new sheet."""
    page = visit("isa")
    sheet = start(page)
    page.goto("/cars/")
    return page, sheet


@pytest.fixture
def tablet(visit: Visit) -> Page:
    """The official's, at a car, with a weight in the form that was not sent."""
    page = at_a_car(visit("ossian"), 2)
    type_total(page, "151.5 kg")
    return page


def test_readings_of_the_bench_are_sent_once(phone: tuple[Page, str]) -> None:
    page, sheet = phone
    ids = [
        keep_reading(page, sheet, LF, "2 1/4"),
        keep_reading(page, sheet, RF, "2 3/8", tried=True),
    ]
    refused = keep_reading(page, sheet, LR, "46 9/7", tried=True, wrong="not less than one")
    sent = Sent(page.context)
    to_heights(page, sheet)
    for name in (LF, RF):
        expect(note(page, name)).to_have_text("saved")
    expect(note(page, LR)).to_contain_text("not less than one")
    expect(box(page, LR)).to_have_value("46 9/7")
    assert [item["id"] for item in waiting_items(page)] == [refused]
    assert earlier_readings(page) == []
    assert saved_texts(page)[:2] == ["2 1/4", "2 3/8"]
    expect(box(page, LR)).to_have_value("46 9/7")  # put back once what waits is read
    assert [sent.times(each) for each in (*ids, refused)] == [1, 1, 0]


def test_a_conflict_that_waits_to_be_decided_still_does(phone: tuple[Page, str]) -> None:
    page, sheet = phone
    asked = {"id": "x", "box": LF, "status": "conflict", "says": "Jonah wrote 2 3/8.", "stands": ""}
    keep_reading(
        page, sheet, LF, "2 1/4", tried=True, conflict={**asked, "seen": "none", "theirs": ""}
    )
    to_heights(page, sheet)
    expect(note(page, LF)).to_contain_text("Jonah wrote 2 3/8.")
    note(page, LF).get_by_role("button", name="Use mine").click()
    expect(note(page, LF)).to_have_text("saved")
    assert saved_texts(page)[0] == "2 1/4"
    assert waiting_items(page) == []


@pytest.mark.parametrize("locks", [True, False], ids=["locks", "lease"])
def test_two_tabs_that_open_at_once_send_it_once(phone: tuple[Page, str], locks: bool) -> None:
    page, sheet = phone
    if not locks:
        page.context.add_init_script(NO_LOCKS)
    ids = [
        keep_reading(page, sheet, name, text)
        for name, text in ((LF, "2 1/4"), (RF, "2 3/8"), (LR, "2 5/16"), (RR, "2 1/2"))
    ]
    sent = Sent(page.context)
    tabs = [page, page.context.new_page()]
    for tab in tabs:
        tab.goto(f"{sheet}/bench/ride-heights/", wait_until="commit")
    for tab in tabs:
        for name, text in ((LF, "2 1/4"), (RF, "2 3/8"), (LR, "2 5/16"), (RR, "2 1/2")):
            expect(box(tab, name)).to_have_value(text)
    expect(tabs[0].locator("#h-ride-heights")).to_have_text("4 of 4")
    expect(tabs[1].locator("[aria-current=step] .tally")).to_have_text("done all taken")
    assert waiting_items(page) == []
    assert earlier_readings(page) == []
    assert [sent.times(each) for each in ids] == [1, 1, 1, 1]
    assert saved_texts(page) == ["2 1/4", "2 3/8", "2 5/16", "2 1/2"]


@pytest.mark.parametrize(
    ("stops", "at", "copied"), [(STOPS_COPYING, "copying", 0), (STOPS_DELETING, "deleting", 1)]
)
def test_readings_outlive_a_page_that_is_closed_in_the_midst(
    phone: tuple[Page, str], stops: str, at: str, copied: int
) -> None:
    page, sheet = phone
    item = keep_reading(page, sheet, LF, "2 1/4")
    sent = Sent(page.context)
    closed = page.context.new_page()
    closed.add_init_script(stops)
    closed.goto(f"{sheet}/bench/ride-heights/")
    expect(closed.locator(f"html[data-at={at}]")).to_be_attached()
    closed.close()
    assert len(earlier_readings(page)) == 1
    assert len(waiting_items(page)) == copied
    to_heights(page, sheet)
    expect(note(page, LF)).to_have_text("saved")
    assert (waiting_items(page), earlier_readings(page)) == ([], [])
    assert sent.times(item) == 1
    assert saved_texts(page)[0] == "2 1/4"


def test_what_one_person_typed_before_is_not_sent_as_another(phone: tuple[Page, str]) -> None:
    page, sheet = phone
    item = keep_reading(page, sheet, LF, "2 1/4")
    sent = Sent(page.context)
    page.context.clear_cookies(name="sessionid")
    sign_in_here(page, "jonah")
    to_heights(page, sheet)
    expect(page.locator("[aria-current=step] .tally")).to_have_text("0 of 4")
    with page.expect_response(lambda answer: "/now?" in answer.url):
        pass
    expect(box(page, LF)).to_have_value("")
    assert [each["id"] for each in waiting_items(page)] == [item]
    page.context.clear_cookies(name="sessionid")
    sign_in_here(page, "isa")
    assert sent.times(item) == 0
    to_heights(page, sheet)
    expect(note(page, LF)).to_have_text("saved")
    assert sent.times(item) == 1


def test_signing_out_tells_of_it(phone: tuple[Page, str]) -> None:
    page, sheet = phone
    keep_reading(page, sheet, LF, "2 1/4")
    keep_reading(page, sheet, RF, "2 3/8")
    page.goto("/accounts/logout/")
    page.get_by_role("main").get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("alert")).to_contain_text("2 things you entered wait on this device")
    page.get_by_role("button", name="Sign out all the same").click()
    page.wait_for_url(re.compile("/accounts/login"))
    assert {item["body"]["box"] for item in waiting_items(page)} == {LF, RF}


def test_records_of_the_desk_are_sent_once(tablet: Page) -> None:
    page = tablet
    before = weighings(page).count()
    item = keep_record(page)
    sent = Sent(page.context)
    page.reload()
    expect(bar(page)).to_contain_text("All records are sent")
    bar(page).get_by_role("link").first.click()
    expect(weighings(page)).to_have_count(before + 1)
    expect(weighings(page).first).to_contain_text("made without a connection")
    assert sent.times(item) == 1
    assert (waiting_items(page), earlier_records(page)) == ([], [])


def test_a_refused_record_still_says_why(tablet: Page) -> None:
    page = tablet
    keep_record(page, refused="Total: 15 kg cannot be right")
    sent = Sent(page.context)
    page.reload()
    expect(bar(page)).to_contain_text("Refused: Total: 15 kg cannot be right")
    bar(page).get_by_role("button", name="Mend it").click()
    expect(page.get_by_label("or the total")).to_have_value("151.5 kg")
    assert sent.bodies == []
    assert earlier_records(page) == []


@pytest.mark.parametrize("locks", [True, False], ids=["locks", "lease"])
def test_two_tabs_of_the_desk_send_it_once(tablet: Page, locks: bool) -> None:
    page = tablet
    before, entry = weighings(page).count(), page.url
    if not locks:
        page.context.add_init_script(NO_LOCKS)
    item = keep_record(page)
    sent = Sent(page.context)
    tabs = [page, page.context.new_page()]
    for tab in tabs:
        tab.goto(entry, wait_until="commit")
    for tab in tabs:
        expect(bar(tab)).to_be_attached()
    until_nothing_waits(page)
    page.goto(entry)
    expect(weighings(page)).to_have_count(before + 1)
    assert (waiting_items(page), earlier_records(page)) == ([], [])
    assert sent.times(item) == 1


@pytest.mark.parametrize(
    ("stops", "at", "copied"), [(STOPS_COPYING, "copying", 0), (STOPS_DELETING, "deleting", 1)]
)
def test_records_outlive_a_page_that_is_closed_in_the_midst(
    tablet: Page, stops: str, at: str, copied: int
) -> None:
    page = tablet
    before, entry = weighings(page).count(), page.url
    item = keep_record(page)
    page.goto("/events/")
    sent = Sent(page.context)
    closed = page.context.new_page()
    closed.add_init_script(stops)
    closed.goto(entry)
    expect(closed.locator(f"html[data-at={at}]")).to_be_attached()
    closed.close()
    assert len(earlier_records(page)) == 1
    assert len(waiting_items(page)) == copied
    page.goto(entry)
    expect(bar(page)).to_contain_text("All records are sent")
    assert (waiting_items(page), earlier_records(page)) == ([], [])
    assert sent.times(item) == 1
    page.reload()
    expect(weighings(page)).to_have_count(before + 1)


def test_a_record_is_taken_over_with_its_photo(visit: Visit) -> None:
    page = at_a_car(visit("ossian"), 2)
    entry = page.url
    page.get_by_role("link", name="Another piece").click()
    page.get_by_label("What stands on it").fill("K-21")
    for group in ("Name or number can be read", "Fixed so that it cannot come loose"):
        page.get_by_role("group", name=group).get_by_label("Yes").check()
    photo: FilePayload = {"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": telling(6)}
    page.get_by_label("Photo").set_input_files(photo)
    keep_record(page, "form[data-outbox]")
    page.goto(entry)
    expect(bar(page)).to_contain_text("All records are sent")
    page.reload()
    expect(page.locator("#ballast li", has_text="K-21").get_by_role("img")).to_have_count(1)
    assert (waiting_items(page), earlier_records(page)) == ([], [])
