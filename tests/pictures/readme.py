"""The README's pictures: a car, a step of the bench, the tech desk, the setup sheet on paper."""

import io
import subprocess
import tempfile
from collections.abc import Mapping
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, ViewportSize
from playwright.sync_api import Page as Tab

from tests.pictures.rows import Rows

PICTURES = Path(__file__).resolve().parent.parent.parent / "fixtures" / "pictures"
PHONE: ViewportSize = {"width": 390, "height": 844}
DESKTOP: ViewportSize = {"width": 1280, "height": 800}
COLOURS = 96  # enough for a page, and a file that a clone hardly notices
DOTS_AN_INCH = 80


class Takes:
    """Takes them of a running site."""

    def __init__(self, browser: Browser, site: str, cookies: Mapping[str, str]) -> None:
        self.browser, self.site, self.cookies = browser, site, cookies

    def all(self, rows: Rows) -> None:
        """All four."""
        PICTURES.mkdir(exist_ok=True)
        of = rows.by_name
        self.page("car", "chief", f"/cars/{of['car, for the README'][0]}/", DESKTOP)
        step = f"/sheets/{of['sheet, for the README'][0]}/bench/ride-heights/"
        self.page("bench-phone", "chief", step, PHONE)
        self.page("desk", "official", f"/entries/{rows.by_word['entries'][0]}/", PHONE)
        self.paper("sheet-print", f"/prints/{of['print, for the README'][0]}/file")

    def page(self, name: str, who: str, path: str, size: ViewportSize) -> None:
        """The first screen of one page."""
        tab = self._tab(who, size)
        tab.goto(path, wait_until="networkidle")
        _save(name, tab.screenshot())
        tab.context.close()

    def paper(self, name: str, path: str) -> None:
        """The first page of a print."""
        tab = self._tab("chief", DESKTOP)
        with tempfile.TemporaryDirectory() as folder:
            pdf, page = Path(folder) / "print.pdf", Path(folder) / "page"
            pdf.write_bytes(tab.request.get(path).body())
            dots = ["-r", str(DOTS_AN_INCH)]
            turn = ["pdftoppm", "-png", *dots, "-singlefile", str(pdf), str(page)]
            subprocess.run(turn, check=True)
            _save(name, page.with_suffix(".png").read_bytes())
        tab.context.close()

    def _tab(self, who: str, size: ViewportSize) -> Tab:
        context = self.browser.new_context(base_url=self.site, viewport=size)
        cookie = {"name": "sessionid", "value": self.cookies[who], "url": self.site}
        context.add_cookies([cookie])  # type: ignore[list-item]  # a dict with these keys
        return context.new_page()


def _save(name: str, png: bytes) -> None:
    picture = Image.open(io.BytesIO(png)).convert("RGB")
    picture.quantize(COLOURS).save(PICTURES / f"{name}.png", optimize=True)
