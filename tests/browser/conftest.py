"""The demo club on a web server of its own, and a real Chromium to use it with."""

import json
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import psutil
import pytest
from axe_playwright_python.base import AxeResults
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, ViewportSize, sync_playwright

from clubsetup.runtime.embedded import Embedded
from tests.here import CHROMIUM, need_browser
from tests.migrated import MIGRATED, copy_demo, service_env
from tests.runtime.service import free_port

HOUSE = Path(__file__).resolve().parent.parent.parent
QUIET = (
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
)
PHONE: ViewportSize = {"width": 390, "height": 844}
DESKTOP: ViewportSize = {"width": 1280, "height": 800}
Shape = tuple[ViewportSize, Literal["light", "dark"]]
TWO_SHAPES: tuple[Shape, ...] = ((PHONE, "light"), (DESKTOP, "dark"))
SHAPES: tuple[Shape, ...] = (*TWO_SHAPES, (PHONE, "dark"), (DESKTOP, "light"))
AXE = Axe()
WCAG = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")
# Of these the rules of axe's category 'color', 4.12.
COLOURS = ("color-contrast", "link-in-text-block")
PASSWORD = "paddock-lantern-7"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Everything here drives a browser."""
    for item in items:
        if Path(item.path).parent == Path(__file__).parent:
            item.add_marker("browser")


@dataclass
class Site:
    """The running service."""

    url: str
    env: dict[str, str]

    def manage(self, *arguments: str) -> str:
        """Runs a management command against it."""
        done = subprocess.run(
            [sys.executable, "manage.py", *arguments],
            cwd=HOUSE,
            env=self.env,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout


def wait_for(url: str, seconds: float = 30) -> None:
    until = time.monotonic() + seconds
    while True:
        try:
            with urllib.request.urlopen(url, timeout=5):
                return
        except OSError:
            if time.monotonic() > until:
                raise
            time.sleep(0.1)


@pytest.fixture(scope="session")
def site() -> Iterator[Site]:
    """Migrated, filled with the demo, served as `up` serves it, with a worker."""
    need_browser()
    # A short path: the database's socket lies in it.
    data = Path(tempfile.mkdtemp(prefix="clubsetup-browser-")) / "data"
    copy_demo(data)
    server = Embedded(data / "database")
    port = free_port()
    env = service_env(data, server.prepare(MIGRATED))
    running = Site(f"http://localhost:{port}", env)
    # The key that signs who is looking is another in each run.
    running.manage("migrate", "-v0")
    web = [sys.executable, "-m", "gunicorn", "clubsetup.wsgi", "-b", f"127.0.0.1:{port}"]
    worker = [sys.executable, "-m", "celery", "-A", "clubsetup.celery", "worker", "-c", "1"]
    quiet: dict[str, Any] = {"cwd": HOUSE, "env": env, "stdout": subprocess.DEVNULL}
    with (
        (data / "web.log").open("wb") as log,
        subprocess.Popen([*web, "--threads", "4"], **quiet, stderr=log) as serving,
        subprocess.Popen([*worker, "-P", "solo"], **quiet, stderr=log) as working,
    ):
        try:
            wait_for(running.url + "/accounts/login/")
            yield running
        finally:
            # Nothing of it is needed any more.
            for each in psutil.Process(serving.pid).children(recursive=True):
                each.kill()
            serving.kill()
            working.kill()
    server.stop()
    shutil.rmtree(data.parent, ignore_errors=True)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One Chromium for a file of tests: while it is open an event loop runs in this thread, in
    which Django refuses to ask the database."""
    need_browser()
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        yield chromium
        chromium.close()


@pytest.fixture
def visit(site: Site, browser: Browser) -> Iterator[Callable[..., Page]]:
    """`visit("isa", "/cars/")`: a fresh browser signed in as that person, on that page.

    A page that logs an error to the console, by its own script or because the content security
    policy refused something, fails the test.
    """
    contexts: list[BrowserContext] = []
    problems: list[str] = []
    # What the browser and htmx themselves say of a lost line.
    lost = ("Failed to load resource", "htmx:afterRequest", "htmx:sendError")

    def go(who: str | None, path: str = "/", *, phone: bool = True, **options: Any) -> Page:
        context = browser.new_context(
            viewport=PHONE if phone else DESKTOP, has_touch=phone, base_url=site.url, **options
        )
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: problems.append(str(error)))
        page.on(
            "console",
            lambda line: (
                problems.append(line.text)
                if line.type == "error" and not line.text.startswith(lost)
                else None
            ),
        )
        if who:
            send_form(context, "/accounts/login/", login=address_of(who), password=PASSWORD)
        page.goto(path)
        return page

    yield go
    for context in contexts:
        context.close()
    assert problems == []


def address_of(who: str) -> str:
    return f"{who}@alder-hollow.example"


def send_form(context: BrowserContext, path: str, **fields: str) -> str:
    """Posts a form as that browser without drawing a page; the address that it leads to."""
    if not context.cookies():
        context.request.get("/accounts/login/")
    tokens = [c["value"] for c in context.cookies() if c.get("name") == "csrftoken"]
    answer = context.request.post(path, form={**fields}, headers={"X-CSRFToken": tokens[0]})
    assert answer.ok, answer.text()
    assert not answer.url.endswith(path), f"{path} was not taken: {answer.text()}"
    return answer.url


def sign_in(page: Page, who: str) -> None:
    """Through the form, as people do."""
    page.goto("/accounts/login/")
    page.get_by_label("Email").fill(address_of(who))
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.locator("form button[type=submit]").first.click()
    page.wait_for_url(lambda url: "/accounts/login" not in url)


def assert_accessible(page: Page, rules: Sequence[str] = WCAG) -> None:
    """No violation of WCAG 2.2 A and AA that axe can find."""
    if page.evaluate("typeof axe") == "undefined":
        page.evaluate(AXE.axe_script)
    # What happens to lie under the bar at the foot is scrolled free by whoever wants it.
    let_bars_stay = (
        "document.querySelectorAll('.bench-bar, .run-save').forEach(b => b.style.position = '{}')"
    )
    page.evaluate(let_bars_stay.format("static"))
    # What passes is not sent over: there is much of it.
    options = json.dumps({"runOnly": rules, "resultTypes": ["violations"]})
    results = AxeResults(page.evaluate(f"axe.run({options})"))
    page.evaluate(let_bars_stay.format(""))
    assert results.violations_count == 0, results.generate_report()


def assert_fits(page: Page) -> None:
    """Nothing makes the page scroll sideways."""
    wide = page.evaluate(
        "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    )
    assert wide <= 0, f"{page.url} is {wide} px too wide"


def assert_for_everybody(page: Page, shapes: Iterable[Shape] = SHAPES) -> None:
    """Accessible by day and by night, and within the width of a phone and a desk.

    By night the same stands in the same place in other colours: once every rule has been held
    against a width, the other scheme is asked of its colours alone.
    """
    seen = []
    for size, scheme in shapes:
        page.set_viewport_size(size)
        page.emulate_media(color_scheme=scheme)
        assert_fits(page)
        assert_accessible(page, COLOURS if size in seen else WCAG)
        seen.append(size)
