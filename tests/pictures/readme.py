"""Takes the README's pictures of a running demo:

uv run python -m tests.browser.pictures http://127.0.0.1:8000
"""

import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, Page, ViewportSize, sync_playwright

from tests.browser.conftest import DESKTOP, HOUSE, PHONE, QUIET, sign_in
from tests.here import CHROMIUM

PICTURES = HOUSE / "fixtures" / "pictures"


def open_page(browser: Browser, site: str, who: str, size: ViewportSize) -> Page:
    """A browser of its own, signed in."""
    page = browser.new_context(viewport=size, base_url=site).new_page()
    sign_in(page, who)
    return page


def car_and_sheet(browser: Browser, site: str) -> None:
    """The car's page at a desk, a step of the bench on a phone, the setup sheet on paper."""
    page = open_page(browser, site, "isa", DESKTOP)
    page.goto("/cars/")
    page.get_by_role("link", name="31 Biscuit").first.click()
    page.wait_for_load_state("networkidle")
    page.screenshot(path=PICTURES / "car.png")
    address = page.locator("main a[href^='/sheets/']").first.get_attribute("href") or ""
    sheet = address.removesuffix("bench/")
    phone = open_page(browser, site, "isa", PHONE)
    phone.goto(f"{sheet}bench/ride-heights/")
    phone.wait_for_load_state("networkidle")
    phone.screenshot(path=PICTURES / "bench-phone.png")
    print_sheet(page)


def print_sheet(page: Page) -> None:
    """Prints the last closed sheet and turns its first page into a picture."""
    page.get_by_role("link", name="As set").first.click()
    page.get_by_role("button", name="Print").first.click()
    link = page.get_by_role("link", name="Open the PDF").first
    link.wait_for(timeout=60_000)
    address = link.get_attribute("href")
    assert address
    with tempfile.TemporaryDirectory() as folder:
        pdf = Path(folder) / "sheet.pdf"
        pdf.write_bytes(page.request.get(address).body())
        subprocess.run(
            ["pdftoppm", "-png", "-r", "80", "-singlefile", pdf, PICTURES / "sheet-print"],
            check=True,
        )


def desk(browser: Browser, site: str) -> None:
    """The tech desk on a phone."""
    page = open_page(browser, site, "ossian", PHONE)
    page.goto("/")
    page.get_by_role("link", name="Weigh the next car").first.click()
    page.wait_for_load_state("networkidle")
    page.screenshot(path=PICTURES / "desk.png")


def main(site: str) -> None:
    """All of them."""
    PICTURES.mkdir(exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        car_and_sheet(browser, site)
        desk(browser, site)
        browser.close()


if __name__ == "__main__":
    main(sys.argv[1])
