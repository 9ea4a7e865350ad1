"""How long an evening at the bench takes: every step of a sheet, typed at human speed.

Run by path: `uv run pytest tests/benchmarks/bench_bench_entry.py`. The targets are 4 minutes for
about 60 readings typed, and 2 seconds of server time for all of it, pages and polls included.
"""

import json
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import pytest
from django.test import Client
from playwright.sync_api import Page, expect
from pytest_benchmark.fixture import BenchmarkFixture

from cars.catalogue.queries import Catalogue, catalogue
from cars.catalogue.sync import read_catalogue
from cars.models import Measure, Sheet
from clubsetup.access.ids import new_id
from clubsetup.access.viewer import viewing_as
from tests.benchmarks import sizes
from tests.browser.conftest import browser, site, visit
from tests.browser.outbox import waiting_items
from tests.browser.test_bench import start
from tests.cars.filling import everything
from tests.cars.garage import make_garage
from tests.people import People

# A key struck every 0.28 s is the average of 40 words a minute (Card, Moran and Newell 1980, the
# keystroke-level model, from memory); 1.2 s more to look at the tape, and as much for the pad or
# the hand to find the field. With tools in hand it takes longer, but not in the program.
KEY, LOOK = 0.28, 1.2
PACE = sizes.of(1000, 0)  # milliseconds of waiting for a second of a person's
POLL = 2.0
__all__ = ["browser", "site", "visit"]  # the browser tests' fixtures


@dataclass
class Evening:
    """What was asked of the server, and the time a person took over it."""

    server: float = 0.0
    busy: float = (
        0.0  # of that, what our own process computed; the rest is the database and waiting
    )
    person: float = 0.0
    requests: int = 0
    readings: int = 0
    slowest: dict[str, float] = field(default_factory=dict)

    def ask(self, what: str, client_call: Any, *args: Any, **kwargs: Any) -> Any:
        started, at_work = time.perf_counter(), time.process_time()
        answer = client_call(*args, **kwargs)
        took = time.perf_counter() - started
        self.server += took
        self.busy += time.process_time() - at_work
        self.requests += 1
        self.slowest[what] = max(took, self.slowest.get(what, 0.0))
        return answer


@pytest.fixture
def sheet(people: People) -> Sheet:
    garage = make_garage(people)
    with viewing_as(people.crew.pk):
        return garage.sheet(people.crew)


def work(client: Client, sheet: Sheet, known: Catalogue, full: dict[str, str]) -> Evening:
    """Every step: its page, a save at every field, and a poll every 2 s of typing."""
    evening = Evening()
    for step in known.steps:
        path = f"/sheets/{sheet.pk}/bench/{step.pk}/"
        evening.ask("page", client.get, path)
        version, since_poll = "", 0.0
        boxes = [
            f"{measure.pk}.{spot}"
            for measure in known.of_step(step)
            if measure.taken == "quantity"
            for spot in measure.spots
        ]
        for box in boxes:
            typing = LOOK + KEY * (len(full[box]) + 1)
            evening.person += typing
            since_poll += typing
            row = {"id": str(new_id()), "box": box, "text": full[box], "seen": "none"}
            body = json.dumps({"readings": [row]})
            said = evening.ask(
                "save", client.post, path + "save", body, content_type="application/json"
            ).json()
            assert said["results"][0]["status"] == "saved", said["results"]
            version = said["version"]
            evening.readings += 1
            while since_poll > POLL:
                assert (
                    evening.ask("poll", client.get, f"{path}now?version={version}").status_code
                    == 204
                )
                since_poll -= POLL
    return evening


def typed_figures() -> dict[str, str]:
    """A figure for every field of the catalogue that holds one."""
    return everything({measure.pk: measure for measure in read_catalogue()[1]})


def test_an_evening(
    benchmark: BenchmarkFixture, sheet: Sheet, people: People, capsys: pytest.CaptureFixture[str]
) -> None:
    client = Client()
    client.force_login(people.crew)
    known = catalogue()
    full = everything(Measure.objects.in_bulk())
    client.get(f"/sheets/{sheet.pk}/bench/tyres/")  # a server that has served before

    evening = benchmark.pedantic(work, args=(client, sheet, known, full), rounds=1)
    assert evening.readings >= 60
    benchmark.extra_info.update(
        readings=evening.readings,
        requests=evening.requests,
        server_seconds=round(evening.server, 2),
        busy_seconds=round(evening.busy, 2),
        person_seconds=round(evening.person),
        slowest_ms={what: round(1000 * took) for what, took in evening.slowest.items()},
    )
    with capsys.disabled():
        sys.stdout.write(f"\n{benchmark.extra_info}\n")


def test_an_evening_typed_in_a_browser(
    benchmark: BenchmarkFixture, visit: Callable[..., Page], capsys: pytest.CaptureFixture[str]
) -> None:
    """The same through real keys, Enter after each figure, a look at the tape before each."""
    page = visit("isa")
    address = start(page)
    page.evaluate("performance.setResourceTimingBufferSize(5000)")
    full = typed_figures()

    def evening() -> int:
        typed = 0
        while True:
            expect(page.locator("#pad-switch")).to_be_visible()
            # Until all scripts run, Enter sends the form as a page without them does.
            page.wait_for_load_state()
            names = page.eval_on_selector_all(
                "#bench-form input.number",
                "all => all.filter(f => f.checkVisibility()).map(f => f.name)",
            )
            for name in names:
                page.locator(f'[name="{name}"]').focus()
                page.wait_for_timeout(PACE * LOOK)
                page.keyboard.type(full[name], delay=PACE * KEY)
                page.keyboard.press("Enter", delay=PACE * KEY)
                typed += 1
            done = (
                page.locator("[data-leave]").count()
                and not page.locator("[data-go].primary").count()
            )
            if done:
                break
            page.locator("#bench-next").click()
            page.wait_for_timeout(300)
        page.wait_for_timeout(1500)
        return typed

    started = time.perf_counter()
    count = benchmark.pedantic(evening, rounds=1)
    took = time.perf_counter() - started
    asked = page.evaluate(
        "performance.getEntriesByType('resource').filter(e => e.name.includes('/bench/'))"
        ".map(e => e.responseEnd - e.requestStart)"
    )
    page.goto(f"{address}/bench/done")
    benchmark.extra_info.update(
        readings=count, seconds=round(took), requests=len(asked), waited=round(sum(asked) / 1000, 2)
    )
    with capsys.disabled():
        sys.stdout.write(f"\n{benchmark.extra_info}\n")
    assert count >= 60
    assert waiting_items(page) == []
