"""Shoots pages in a real browser, and says which of them scroll sideways."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, sync_playwright
from playwright.sync_api import Page as Tab

from tests.here import CHROMIUM
from tests.pictures.contact import Shot, save_sheet
from tests.pictures.pages import Page

ARGUMENTS = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run")
WIDTHS = {320: 568, 390: 844, 820: 1180, 1280: 800}
SHOWN = (390, 1280)
# (width, scheme) of a layout beside what every page has.
OF_LAYOUTS = ((320, "light"), (820, "light"), (390, "dark"), (1280, "dark"))
TOO_WIDE = """() => {
  const wide = document.documentElement.scrollWidth - document.documentElement.clientWidth;
  if (wide <= 0) return null;
  const over = [...document.querySelectorAll("body *")].filter(
    (one) => one.getBoundingClientRect().right > document.documentElement.clientWidth + 1);
  const name = (one) => one.tagName.toLowerCase() + (one.className ? "." + one.className : "");
  return `${wide} px: ` + over.slice(0, 3).map(name).join(", ");
}"""


@dataclass
class Report:
    """What was seen beside the pictures."""

    shown: list[str] = field(default_factory=list)
    too_wide: list[str] = field(default_factory=list)
    not_shown: list[str] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)


@contextmanager
def chromium() -> Iterator[Browser]:
    """One browser."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(ARGUMENTS))
        yield browser
        browser.close()


class Photographer:
    """Signed in as everybody, one tab each."""

    def __init__(self, browser: Browser, site: str, cookies: Mapping[str, str], out: Path) -> None:
        self.browser, self.site, self.cookies, self.out = browser, site, cookies, out
        self.tabs: dict[str, Tab] = {}
        self.report = Report()
        self.now = ""

    def shoot(self, page: Page) -> None:
        """Its contact sheet."""
        shots: list[Shot] = []
        for state, (who, path) in page.paths.items():
            self.now = f"{page.name} ({state})"
            tab = self._tab(who)
            answer = tab.goto(path)
            if answer is None or answer.status != page.status:
                status = answer.status if answer else "nothing"
                self.report.not_shown.append(f"{self.now}: {status} at {path} as {who}")
                continue
            if page.waits_for:
                tab.wait_for_selector(page.waits_for)
            if page.pressed:
                self._press(tab, page)
            shots += self._widths(tab, f"{state}, {who}", page.is_layout)
        if shots:
            save_sheet(f"{page.name}  {page.address}", shots, self.out / f"{_file(page.name)}.png")
            self.report.shown.append(page.name)
        elif not page.paths:
            self.report.not_shown.append(f"{page.name}: no row to show it of")

    def _tab(self, who: str) -> Tab:
        if who not in self.tabs:
            context: BrowserContext = self.browser.new_context(base_url=self.site)
            if cookie := self.cookies.get(who):
                context.add_cookies([{"name": "sessionid", "value": cookie, "url": self.site}])
            tab = context.new_page()
            tab.on("pageerror", lambda error: self.report.problems.append(f"{self.now}: {error}"))
            tab.on("console", self._note_error)
            self.tabs[who] = tab
        return self.tabs[who]

    def _press(self, tab: Tab, page: Page) -> None:
        for label, text in page.written.items():
            tab.get_by_label(label).first.fill(text)
        with tab.expect_navigation():
            tab.get_by_role("button", name=page.pressed, exact=True).click()

    def _note_error(self, line: Any) -> None:
        if line.type == "error" and not line.text.startswith("Failed to load resource"):
            self.report.problems.append(f"{self.now}: {line.text}")

    def _widths(self, tab: Tab, caption: str, is_layout: bool) -> Iterator[Shot]:
        for width, height in WIDTHS.items():
            tab.set_viewport_size({"width": width, "height": height})
            if wide := tab.evaluate(TOO_WIDE):
                self.report.too_wide.append(f"{self.now} at {width}: {wide}")
            if width in SHOWN:
                yield self._shot(tab, f"{caption}, {width}")
        if is_layout:
            for width, scheme in OF_LAYOUTS:
                tab.set_viewport_size({"width": width, "height": WIDTHS[width]})
                tab.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
                yield self._shot(tab, f"{caption}, {width}, {scheme}")
            tab.emulate_media(color_scheme="light")

    def _shot(self, tab: Tab, caption: str) -> Shot:
        return Shot(caption, tab.screenshot(full_page=True, animations="disabled"))


def _file(name: str) -> str:
    return name.replace(", ", "-").replace(" ", "-")
