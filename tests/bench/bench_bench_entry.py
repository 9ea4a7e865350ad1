"""How long an evening at the bench takes: every step of a sheet, typed at human speed.

Run by path: `uv run pytest tests/bench/bench_bench_entry.py`. The targets are 4 minutes for about
60 readings typed, and 2 seconds of server time for all of it, pages and polls included.
"""

import json
import sys
import time
from dataclasses import dataclass, field
from typing import Any

import pytest
from django.test import Client
from pytest_benchmark.fixture import BenchmarkFixture

from cars.models import Measure, Sheet
from cars.queries.catalogue import Catalogue, catalogue
from clubsetup.access.ids import new_id
from clubsetup.access.viewer import viewing_as
from tests.cars.filling import everything
from tests.cars.garage import make_garage
from tests.people import People

# A key struck every 0.28 s is the average of 40 words a minute (Card, Moran and Newell 1980, the
# keystroke-level model, from memory); 1.2 s more to look at the tape, and as much for the pad or
# the hand to find the field. With tools in hand it takes longer, but not in the program.
KEY, LOOK = 0.28, 1.2
POLL = 2.0


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
