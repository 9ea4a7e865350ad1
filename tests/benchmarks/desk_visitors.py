"""Who comes to the event of tests/benchmarks/load_desk.py: officials who weigh, people who look,
and whoever pulls the plug."""

import http.client
import os
import random
import re
import signal
import threading
import time
import urllib.parse
from collections import Counter, defaultdict
from dataclasses import dataclass, field

import psutil

from clubsetup.access.ids import new_id
from tests.runtime.service import Service

TIMEOUT = 30.0
BROKEN = (OSError, http.client.HTTPException)
TOKEN = re.compile(r'name="csrfmiddlewaretoken" value="([^"]+)"')
PATIENCE = 180.0  # seconds that an official presses the button again after a failure


@dataclass
class Morning:
    """What is there, and what came of it. Times in seconds from the start."""

    port: int
    event: str
    scale_set: str
    entries: dict[str, str]  # entry: the e-mail of its chief
    sessions: dict[str, str]
    ends: float
    loads: int
    seconds: float
    acknowledged: list[str] = field(default_factory=list)
    weigh_times: list[float] = field(default_factory=list)
    page_times: list[tuple[float, float]] = field(default_factory=list)
    by_page: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    failed: Counter[str] = field(default_factory=Counter)
    again: int = 0
    never_kept: int = 0
    prints: int = 0
    kills: list[tuple[float, str]] = field(default_factory=list)
    outages: list[tuple[float, float]] = field(default_factory=list)
    lock: threading.Lock = field(default_factory=threading.Lock)

    @property
    def now(self) -> float:
        """Seconds since it began."""
        return time.monotonic() - (self.ends - self.seconds)

    @property
    def over(self) -> bool:
        """Whether the time is up."""
        return time.monotonic() >= self.ends

    def out_at(self, when: float) -> bool:
        """Whether something had been killed and not all was back."""
        return any(a <= when <= b for a, b in self.outages)


class Browser:
    """One person's browser: a session and the cookies that come with it."""

    def __init__(self, morning: Morning, email: str) -> None:
        self.port = morning.port
        self.cookies = {"sessionid": morning.sessions[email]}

    def ask(self, path: str, form: dict[str, str] | None = None) -> tuple[int, str, str]:
        """Status, text, and where it leads. Raises one of BROKEN."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=TIMEOUT)
        head = {"Cookie": "; ".join(f"{k}={v}" for k, v in self.cookies.items())}
        body = urllib.parse.urlencode(form) if form else None
        if form:
            head["Content-Type"] = "application/x-www-form-urlencoded"
        try:
            connection.request("POST" if form else "GET", path, body, head)
            answer = connection.getresponse()
            text = answer.read().decode()
            for cookie in answer.headers.get_all("Set-Cookie") or []:
                name, _, value = cookie.split(";")[0].partition("=")
                self.cookies[name] = value
            return answer.status, text, answer.headers.get("Location", "")
        finally:
            connection.close()

    def token_of(self, path: str) -> str | None:
        """The form's token on a page, which sets its cookie too; None where it does not answer."""
        try:
            status, text, _ = self.ask(path)
        except BROKEN:
            return None
        found = TOKEN.search(text)
        return found[1] if status == 200 and found else None


def desk(morning: Morning, n: int, desks: int, chance: random.Random) -> None:
    """An official with every third car: opens it, weighs it, and presses again until it is kept."""
    browser = Browser(morning, f"official.{n}@example.org")
    queue = list(morning.entries)[n::desks]
    pause = morning.seconds / max(1, round(len(queue) * morning.seconds / 300))
    for number, entry in enumerate(queue):
        due = morning.ends - morning.seconds + number * pause
        time.sleep(max(0.0, due - time.monotonic()))
        if morning.over and number:  # the first is weighed however late it has become
            return
        _weigh(morning, browser, entry, chance)
        if number % 20 == 10:
            _print(morning, browser)


def _weigh(morning: Morning, browser: Browser, entry: str, chance: random.Random) -> None:
    """The same id each time: pressing again may not make a second record."""
    row_id, path = str(new_id()), f"/entries/{entry}/"
    # What the scales' display can show: it steps by 0.2 lb.
    pads = {spot: f"{78 + chance.randrange(31) / 5:.1f}" for spot in ("LF", "RF", "LR", "RR")}
    form = {
        "row_id": row_id,
        "driver_in": "on",
        "stage": "after",
        "fuel_note": "as it came",
        **pads,
    }
    form["scale_set"] = morning.scale_set
    first, tried = time.monotonic(), 0
    while time.monotonic() - first < PATIENCE:
        tried += 1
        token = browser.token_of(path)
        if token:
            began = time.monotonic()
            try:
                status, _, leads = browser.ask(
                    f"{path}weigh", {**form, "csrfmiddlewaretoken": token}
                )
            except BROKEN:
                status, leads = 0, ""
            if status == 302 and leads == path:
                with morning.lock:
                    morning.acknowledged.append(row_id)
                    morning.weigh_times.append(time.monotonic() - began)
                    morning.again += tried > 1
                return
        time.sleep(0.5)
    with morning.lock:
        morning.never_kept += 1


def _print(morning: Morning, browser: Browser) -> None:
    token = browser.token_of(f"/events/{morning.event}/prints")
    if token is None:
        return
    form = {"document": "weigh-in-list", "subject_id": morning.event, "csrfmiddlewaretoken": token}
    try:
        status, _, _ = browser.ask("/prints/ask", form)
    except BROKEN:
        return
    with morning.lock:
        morning.prints += status == 302


def visitor(morning: Morning, n: int, visitors: int, chance: random.Random) -> None:
    """Loads every so-manieth page at its time, however long the others took."""
    browsers = {email: Browser(morning, email) for email in morning.sessions}
    for number in range(n, morning.loads, visitors):
        due = morning.ends - morning.seconds + morning.seconds * number / morning.loads
        time.sleep(max(0.0, due - time.monotonic()))
        if time.monotonic() > morning.ends + TIMEOUT:
            return
        name, email, path = _page(morning, chance)
        when, began = morning.now, time.monotonic()
        try:
            status, _, _ = browsers[email].ask(path)
            problem = "" if status == 200 else str(status)
        except BROKEN as error:
            problem = type(error).__name__
        took = time.monotonic() - began
        with morning.lock:
            if problem:
                morning.failed[problem] += 1
            else:
                morning.page_times.append((when, took))
                morning.by_page[name].append(took)


def _page(morning: Morning, chance: random.Random) -> tuple[str, str, str]:
    entry, chief = chance.choice(list(morning.entries.items()))
    official = f"official.{chance.randrange(3)}@example.org"
    return chance.choices(
        [
            ("entry, official", official, f"/entries/{entry}/"),
            ("entry, family", chief, f"/entries/{entry}/"),
            ("queue, official", official, f"/events/{morning.event}/desk"),
            ("event, family", chief, f"/events/{morning.event}/"),
            ("start, family", chief, "/"),
        ],
        weights=[35, 20, 15, 15, 15],
    )[0]


# Pulling the plug.


KILLED = ("web", "worker", "database connection", "database")


def killer(
    morning: Morning, service: Service, what_is_killed: tuple[str, ...], chance: random.Random
) -> None:
    """Kills one after the other, over and over, each at a random moment of its share of the
    time."""
    rounds = max(1, round(morning.seconds / 120))
    order = what_is_killed * rounds
    share = morning.seconds / (len(order) + 1)
    for number, what in enumerate(order):
        due = share * (number + 0.2 + 0.8 * chance.random())
        time.sleep(max(0.0, due - morning.now))
        began = morning.now
        if _kill(service, what, chance):
            morning.kills.append((began, what))
        _wait_until_back(morning, service, what)
        morning.outages.append((began, morning.now))


def _kill(service: Service, what: str, chance: random.Random) -> bool:
    if what == "web":
        found = service.part("gunicorn")
    elif what == "worker":
        found = service.part("celery")
    else:
        found = _database(service, connections=what == "database connection")
    if not found:
        return False
    victim = chance.choice(found)
    os.kill(victim.pid, signal.SIGKILL)
    return True


def _database(service: Service, *, connections: bool) -> list[psutil.Process]:
    postmaster = int((service.folder / "database" / "postmaster.pid").read_text().split()[0])
    parent = psutil.Process(postmaster)
    if not connections:
        return [parent]
    return [p for p in parent.children() if "clubsetup_app" in " ".join(p.cmdline())]


def _wait_until_back(morning: Morning, service: Service, what: str) -> None:
    """Nobody helps but for a killed database server: that is started again with `up`, as the
    person would who runs the service."""
    if what == "database":
        service.interrupt()
        service.start()
    browser = Browser(morning, "official.0@example.org")
    good, end = 0, time.monotonic() + 120
    while good < 3 and time.monotonic() < end:
        try:
            good = good + 1 if browser.ask(f"/events/{morning.event}/")[0] == 200 else 0
        except BROKEN:
            good = 0
        time.sleep(0.1)
