"""What waits on the device of a browser, as it is stored there."""

import time
from typing import Any

from playwright.sync_api import Page

ITEMS = """() => new Promise((resolve, reject) => {
  const asked = indexedDB.open("outbox");
  asked.onupgradeneeded = () => asked.transaction.abort();
  asked.onerror = () => resolve([]);
  asked.onsuccess = () => {
    const found = asked.result.transaction("items").objectStore("items").getAll();
    found.onsuccess = () => { asked.result.close(); resolve(found.result); };
    found.onerror = () => reject(found.error);
  };
})"""


def waiting_items(page: Page) -> list[dict[str, Any]]:
    """Every item in the outbox, whoever made it."""
    found: list[dict[str, Any]] = page.evaluate(ITEMS)
    return found


def until_nothing_waits(page: Page, seconds: float = 20) -> None:
    """What waits is sent one after the other; the last may still be on its way."""
    until = time.monotonic() + seconds
    while waiting := [item["body"] for item in waiting_items(page)] + earlier_records(page):
        assert time.monotonic() < until, f"still on the device: {waiting}"
        page.wait_for_timeout(100)


EARLIER_RECORDS = """() => new Promise((resolve, reject) => {
  const asked = indexedDB.open("desk");
  asked.onupgradeneeded = () => asked.transaction.abort();
  asked.onerror = () => resolve([]);
  asked.onsuccess = () => {
    const found = asked.result.transaction("records").objectStore("records").getAllKeys();
    found.onsuccess = () => { asked.result.close(); resolve(found.result); };
    found.onerror = () => reject(found.error);
  };
})"""


def earlier_readings(page: Page) -> list[str]:
    """The keys of readings as the release before kept them."""
    found: list[str] = page.evaluate(
        "Object.keys(localStorage).filter((key) => key.includes(':item:'))"
    )
    return found


def earlier_records(page: Page) -> list[str]:
    """The ids of records as the release before kept them."""
    found: list[str] = page.evaluate(EARLIER_RECORDS)
    return found
