"""Many people at once on the service as `up` starts it, with the demo in it.

    uv run python -m tests.benchmarks.load_people                # 8, 20 and 40 without a pause
    uv run python -m tests.benchmarks.load_people --people 40 --pause 2 --seconds 120
    uv run python -m tests.benchmarks.load_people --page car     # one page alone, nothing saved
    uv run python -m tests.benchmarks.load_people --people 8 --requests 20000  # its memory

Each person has a connection and a session of their own, asks, reads the answer, pauses, asks
again; one request in six saves a box. Prints for each number of people the requests a second, p50
and p95 by the clock, errors, and the CPU that one request cost web and database; what the people
themselves cost the machine stands beside it. Fails where a request was not answered as it should.
"""

import argparse
import http.client
import json
import math
import os
import random
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import django
import psutil

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
django.setup()

from django.test import Client  # noqa: E402  # after the settings are chosen

from cars.models import Car, Sheet  # noqa: E402
from clubsetup.access.viewer import viewing_as  # noqa: E402
from events.models import Entry, Event  # noqa: E402
from tests.migrated import copy_demo  # noqa: E402
from tests.people import account_of  # noqa: E402
from tests.runtime.service import HOUSE, Service  # noqa: E402

BOXES = tuple(f"ride-height.{spot}" for spot in ("LF", "RF", "LR", "RR"))
SAVES = 0.8
TIMEOUT = 60.0


@dataclass
class Load:
    """What is asked, and what came of it."""

    port: int
    made: dict[str, Any]
    page: str | None
    pause: float
    ends: float
    requests: int | None = None
    times: list[float] = field(default_factory=list)
    saved: int = 0
    failed: Counter[str] = field(default_factory=Counter)

    def goes_on(self) -> bool:
        """There is time left, or there are requests."""
        done = self.requests is not None and len(self.times) >= self.requests
        return not done and time.monotonic() < self.ends


class Person:
    """A browser that keeps its connection, signed in as somebody of the demo."""

    def __init__(self, load: Load, number: int) -> None:
        sessions = load.made["sessions"]
        self.load, self.chance = load, random.Random(number)
        who, key = sessions[number % len(sessions)]
        self.pages = load.made["pages"][who]
        self.box = BOXES[number] if who == "isa" and number < len(BOXES) else None
        self.seen: str | None = load.made["seen"].get(self.box)
        self.cookie = f"sessionid={key}; csrftoken={'c' * 32}"
        self.line = http.client.HTTPConnection("127.0.0.1", load.port, timeout=TIMEOUT)

    def stay(self) -> None:
        """Until the time is up."""
        time.sleep(self.chance.random() * self.load.pause)
        while self.load.goes_on():
            began = time.monotonic()
            try:
                problem = self._save() if self._saves() else self._read()
            except (OSError, http.client.HTTPException) as error:
                problem = type(error).__name__
                self.line.close()
            self.load.times.append(time.monotonic() - began)
            if problem:
                self.load.failed[problem] += 1
            time.sleep(self.load.pause)

    def _saves(self) -> bool:
        # Whoever has a box of their own mostly saves it.
        return self.box is not None and not self.load.page and self.chance.random() < SAVES

    def _read(self) -> str:
        name = self.load.page or self.chance.choice(sorted(self.pages))
        status, _ = self._ask("GET", self.pages.get(name, "/"))
        return "" if status == 200 else f"{name}: {status}"

    def _save(self) -> str:
        sheet, typed = self.load.made["sheet"], f"2 {self.chance.randrange(1, 15, 2)}/16"
        sent = {"typed": typed, "seen": self.seen}
        path = f"/api/v1/sheets/{sheet}/boxes/{self.box}"
        status, text = self._ask("PUT", path, json.dumps(sent))
        if status != 200:
            return f"save: {status} {text[:200]}"
        self.seen = json.loads(text)["reading"]["id"]
        self.load.saved += 1
        return ""

    def _ask(self, method: str, path: str, body: str | None = None) -> tuple[int, str]:
        head = {"Cookie": self.cookie, "Content-Type": "application/json"}
        self.line.request(method, path, body, {**head, "X-CSRFToken": "c" * 32})
        answer = self.line.getresponse()
        return answer.status, answer.read().decode()


def main() -> None:
    """One line for each number of people."""
    options = _options()
    fine = True
    with tempfile.TemporaryDirectory(prefix="people") as folder:
        data = Path(folder) / "data"
        copy_demo(data)
        settings = "clubsetup.settings"
        service = Service(data, new=True, DJANGO_SETTINGS_MODULE=settings)
        try:
            service.start()
            for people in options.people:
                fine &= _run(service, people, options)
        finally:
            service.kill_everything()
    sys.exit(0 if fine else 1)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--people", type=int, nargs="+", default=[8, 20, 40])
    parser.add_argument("--pause", type=float, default=0.0, help="seconds from answer to request")
    parser.add_argument("--seconds", type=float, default=30.0, help="for each number of people")
    parser.add_argument("--requests", type=int, help="go on until so many were answered")
    parser.add_argument("--page", help="start, cars, car, sheet, bench, event or entry, alone")
    parser.add_argument("--tiny", action="store_true", help="a second of three people")
    options = parser.parse_args()
    if options.tiny:
        options.people, options.seconds = [3], 1.0
    return options


def _run(service: Service, people: int, options: argparse.Namespace) -> bool:
    made = _sessions(service, people)
    ends = math.inf if options.requests else time.monotonic() + options.seconds
    load = Load(service.port, made, options.page, options.pause, ends, options.requests)
    there = [Person(load, number) for number in range(people)]
    threads = [threading.Thread(target=person.stay) for person in there]
    served, ours, began = _cpu(service), time.process_time(), time.monotonic()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    lasted, asked = time.monotonic() - began, max(1, len(load.times))
    p95 = statistics.quantiles(load.times, n=20)[-1] if asked > 1 else 0.0
    sys.stdout.write(
        f"{people} at once, pause {options.pause:g} s: {asked / lasted:.1f} a second, "
        f"p50 {1000 * statistics.median(load.times or [0]):.0f} ms, p95 {1000 * p95:.0f} ms, "
        f"{load.saved} saved, {load.failed.total()} failed {dict(load.failed)}; "
        f"CPU a request {1000 * (_cpu(service) - served) / asked:.0f} ms, "
        f"of the people {1000 * (time.process_time() - ours) / asked:.1f} ms; "
        f"largest web process {_megabytes(service):.0f} MB\n"
    )
    sys.stdout.flush()
    return not load.failed


def _cpu(service: Service) -> float:
    total = 0.0
    for process in service.processes():
        try:
            used = process.cpu_times()
        except psutil.Error:
            continue
        total += used.user + used.system
    return total


def _megabytes(service: Service) -> float:
    return max(int(p.memory_info().rss) for p in service.part("gunicorn")) / 2**20


def _sessions(service: Service, people: int) -> dict[str, Any]:
    command = [sys.executable, "-m", "tests.benchmarks.load_people", "sessions", str(people)]
    done = subprocess.run(
        command, cwd=HOUSE, env=service.env, capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise SystemExit(done.stderr)
    made: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return made


def sign_in(people: int) -> dict[str, Any]:
    """Sessions for so many, and what they ask; in a process of the service's own settings."""
    isa, ossian = (account_of(f"{who}@alder-hollow.example") for who in ("isa", "ossian"))
    assert isa
    assert ossian
    with viewing_as(isa.pk):
        car = Car.objects.filter(team__name="Wrenfield").earliest("created_at")
        sheet = Sheet.objects.get(state="open", car=car)
        closed = Sheet.objects.filter(car=car, state="closed").latest("made_on")
        event = Event.objects.get(name="Lantern Night")
        entry = Entry.objects.filter(event=event, car=car).latest("created_at")
    sessions = []
    for number in range(people):
        who, person = ("ossian", ossian) if number % 5 == 4 else ("isa", isa)
        client = Client(SERVER_NAME="localhost")
        client.force_login(person)
        sessions.append((who, client.cookies["sessionid"].value))
        if number == 0:
            step = client.get(f"/api/v1/sheets/{sheet.pk}/bench/ride-heights").json()
    return {
        "sheet": str(sheet.pk),
        "seen": {
            box["box"]: box["takes"][0]["seen"] if box["takes"] else None
            for measure in step["measures"]
            for box in measure["boxes"]
        },
        "sessions": sessions,
        "pages": {
            "isa": {
                "start": "/",
                "cars": "/cars/",
                "car": f"/cars/{car.pk}/",
                "sheet": f"/sheets/{closed.pk}/",
                "bench": f"/sheets/{sheet.pk}/bench/ride-heights/",
                "event": f"/events/{event.pk}/",
            },
            "ossian": {
                "start": "/",
                "event": f"/events/{event.pk}/",
                "desk": f"/events/{event.pk}/desk",
                "entry": f"/entries/{entry.pk}/",
            },
        },
    }


if __name__ == "__main__":
    if sys.argv[1:2] == ["sessions"]:
        sys.stdout.write(json.dumps(sign_in(int(sys.argv[2]))) + "\n")
    else:
        main()
