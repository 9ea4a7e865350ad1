"""What the page of what to try costs the processor: 25 suggestions, a season's record of runs.

Run by path: `uv run pytest -n 0 tests/benchmarks/bench_what_to_try.py`. The target is 30 ms of
processor. 'with trials' has evenings in its record on which what is suggested was tried there and
back, so that each is judged; 'plain' has none.
"""

import time
from datetime import datetime, timedelta
from decimal import Decimal

import numpy as np
import pytest
from django.test import Client
from django.utils import timezone
from pytest_benchmark.fixture import BenchmarkFixture

from cars.models import Feel, Laps, Run, RunDetails
from cars.runs.queries.car_now import car_now
from clubsetup.access.viewer import viewing_as
from teams.actions.drivers import add_driver
from teams.models import Driver
from tests.benchmarks import sizes
from tests.cars.garage import make_garage
from tests.cars.plans.evening import Evening, make_evening
from tests.cars.runs.test_what_to_try import TYRES
from tests.cars.runs.trying import held_to, published_table, suggested
from tests.people import People

DAYS, RUNS, LAPS = sizes.of(60, 2), 8, 15
SUGGESTIONS = 25
CORNERS = ("LF", "RF", "LR", "RR")
FELT = {"entry": "turns", "middle": "turns", "exit": "loose"}


def rows() -> list[str]:
    texts = [f"spring-seat {corner} {way} turn" for corner in CORNERS for way in ("0.5", "-0.5")]
    texts += [f"pressure {corner} {way} psi" for corner in CORNERS for way in ("1", "-1")]
    texts += [f"damper {corner} 1 click" for corner in CORNERS]
    more = ("toe front 0.0625 in", "lead rear 0.125 in", "camber right -0.5 deg")
    return [*texts, *more, "caster left 0.5 deg", "stagger rear 0.25 in"]


def remember(evening: Evening, people: People, *, with_trials: bool) -> None:
    """A season of evenings; with trials each has one seat turned there and back."""
    by, rng = evening.by, np.random.default_rng(1)
    driver = add_driver(by=by, team=people.team, display_name="Pip")
    now = car_now(evening.garage.car, by)
    assert now is not None
    made: list[tuple[Run, RunDetails, Feel, Laps]] = []
    for day in range(DAYS):
        level, first = rng.normal(7.5, 0.2), timezone.now() - timedelta(days=DAYS - day)
        spot = CORNERS[day % len(CORNERS)]
        for order in range(RUNS):
            changed = with_trials and order in (3, 4, 5)
            turned = {"id": str(day), "adjuster": "spring-seat", "spot": spot}
            changes = [{**turned, "amount": "0.5000", "unit": "turn"}] if changed else []
            state = {**now.state, "changes": changes}
            middle = level + rng.normal(0.0, 0.06) - 0.1 * changed
            times = [Decimal(str(round(middle + rng.normal(0.0, 0.1), 3))) for _ in range(LAPS)]
            made.append(_run(evening, first + timedelta(minutes=order), state, driver, times))
    for each in zip(*made, strict=True):
        type(each[0])._default_manager.bulk_create(each)


def _run(
    evening: Evening, at: datetime, state: object, driver: Driver, times: list[Decimal]
) -> tuple[Run, RunDetails, Feel, Laps]:
    team = evening.garage.car.team_id
    run = Run(
        car=evening.garage.car,
        team_id=team,
        ran_at=at,
        sheet=evening.sheet,
        car_state=state,
        by=evening.by,
    )
    given = {"run": run, "team_id": team, "by": evening.by}
    return (
        run,
        RunDetails(surface="paved", driver=driver, **given),
        Feel(said_by="driver", **FELT, **given),
        Laps(times=times, marks=[""] * len(times), timed_by="transponder", **given),
    )


@pytest.mark.parametrize("record", ["plain", "with trials"])
@pytest.mark.benchmark(timer=time.process_time)
def test_what_to_try(benchmark: BenchmarkFixture, people: People, record: str) -> None:
    garage = make_garage(people)
    held_to(
        people, garage.car, ("cross_limit", {"at_most": "60"}), ("left_limit", {"at_most": "60"})
    )
    texts = rows()
    assert len(texts) == SUGGESTIONS
    published_table(people.steward, people, [suggested(text) for text in texts[0::2]])
    # The other way round for the same feel stands in another table.
    published_table(
        people.chief,
        people,
        [suggested(text, place="", balance="loose") for text in texts[1::2]],
        team=people.team,
    )
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        evening.take({**TYRES, "wheelbase.left": "46 1/4", "wheelbase.right": "46 3/4"})
        remember(evening, people, with_trials=record == "with trials")
    client = Client()
    client.force_login(people.chief)
    answer = benchmark(client.get, f"/cars/{garage.car.pk}/what-to-try")
    assert answer.status_code == 200
    assert answer.content.count(b"I did this") + answer.content.count(b"Out:") >= SUGGESTIONS
