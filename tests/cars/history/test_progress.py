"""A driver's progress: what a week and a day say, in whose clock, and who reads it."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cars.models import Run
from cars.runs.actions.runs import FeelSaid, RunFacts, TimedLaps, note_run
from clubsetup.access.viewer import viewing_as
from teams.actions.drivers import add_driver
from teams.models import Driver
from tests.cars.garage import Garage
from tests.cars.runs.test_api import EVERYBODY, caller, done, pointer
from tests.markup import one_line
from tests.people import People, browser_of

OFFS = [Decimal(each) for each in ("-0.2", "0.1", "0.0", "-0.1", "0.2", "0.0", "0.1", "-0.1")]
MONDAY = datetime(2026, 3, 9, 18, 0, tzinfo=UTC)


@pytest.fixture
def driver(people: People) -> Driver:
    with viewing_as(people.chief.pk):
        return add_driver(by=people.chief, team=people.team, display_name="Pip")


def ran(
    people: People,
    garage: Garage,
    driver: Driver,
    at: datetime,
    wide: str = "1",
    said: FeelSaid | None = None,
    seen: FeelSaid | None = None,
) -> Run:
    """Eight laps that count and a first one that does not."""
    times = [Decimal("9.9"), *(Decimal("7.4") + off * Decimal(wide) for off in OFFS)]
    with viewing_as(people.chief.pk):
        return note_run(
            by=people.chief,
            car=garage.car,
            facts=RunFacts(driver=driver, surface="paved"),
            laps=TimedLaps(times, ["first", *[""] * len(OFFS)], "transponder"),
            ran_at=at,
            said=said,
            seen=seen,
        )


def page(people: People, driver: Driver, asked: str = "", who: str = "chief") -> str:
    answer = browser_of(getattr(people, who)).get(f"/drivers/{driver.pk}/progress{asked}")
    assert answer.status_code == 200
    return one_line(answer.content.decode())


def asked(people: People, driver: Driver, **params: str) -> Any:
    client = browser_of(people.coach)
    return done(client.get(f"/api/v1/drivers/{driver.pk}/progress", params))


def test_weeks_and_days_say_what_was_driven_and_felt(
    people: People, garage: Garage, driver: Driver
) -> None:
    said = FeelSaid(entry="pushes", exit="loose", hands="far-left")
    seen = FeelSaid(entry="turns", middle="loose", hands="straight")
    ran(people, garage, driver, MONDAY, said=said, seen=seen)
    ran(people, garage, driver, MONDAY + timedelta(days=1), said=said)
    week, *more = asked(people, driver)["periods"]
    assert not more
    assert (week["start"], week["runs"], week["laps"]) == ("2026-03-09", 2, 16)
    # Of hands the handler's word first, of how the car went the driver's.
    assert week["hands"] == {"straight": 1, "far-left": 1}
    assert week["balance"] == {"pushes": 2, "loose": 3}
    steadiness = week["steadiness"]
    # |t - m| is 0, 0, 0.1 four times, 0.2 twice: 0.1 x 1.4826 x sqrt(8 / 7).
    assert steadiness["spread_s"] == pytest.approx(0.1 * 1.482602218505602 * (8 / 7) ** 0.5)
    assert (steadiness["steady"], steadiness["laps"], steadiness["runs"]) == (12, 16, 2)
    days = asked(people, driver, by="day")["periods"]
    # Eight laps of a day are too few.
    assert [(day["start"], day["steadiness"]) for day in days] == [
        ("2026-03-09", None),
        ("2026-03-10", None),
    ]
    words = page(people, driver)
    assert "week of 9 Mar 2026" in words
    assert "1 straight, 1 far left" in words
    assert "too few laps" in page(people, driver, "?by=day")


@pytest.mark.parametrize(
    ("wide", "says"),
    [
        ("0.1", "The laps are closer together than in the week of 9 Mar 2026."),
        ("10", "The laps are farther apart than in the week of 9 Mar 2026."),
        ("0.9", "cannot be told yet"),
    ],
)
def test_whether_laps_came_closer_together_is_said_only_where_it_is_told(
    people: People, garage: Garage, driver: Driver, wide: str, says: str
) -> None:
    for minutes in (0, 30):
        ran(people, garage, driver, MONDAY + timedelta(minutes=minutes))
        ran(people, garage, driver, MONDAY + timedelta(days=14, minutes=minutes), wide)
    assert says in page(people, driver)


def test_a_sunday_evening_is_of_the_clubs_week(
    people: People, garage: Garage, driver: Driver
) -> None:
    """22:30 of Sunday in Chicago is Monday in UTC."""
    zone = people.club.zone()
    ran(people, garage, driver, datetime(2026, 3, 15, 22, 30, tzinfo=zone))
    (week,) = asked(people, driver)["periods"]
    assert week["start"] == "2026-03-09"
    (day,) = asked(people, driver, by="day")["periods"]
    assert day["start"] == "2026-03-15"


def test_twelve_periods_a_page_and_the_next_after_them(
    people: People, garage: Garage, driver: Driver
) -> None:
    for place in range(14):
        ran(people, garage, driver, MONDAY - timedelta(days=7 * place))
    first = asked(people, driver)
    starts = [week["start"] for week in first["periods"]]
    assert (len(starts), starts[-1]) == (12, "2026-03-09")
    assert first["earlier"] == starts[0]
    rest = asked(people, driver, before=str(first["earlier"]))
    assert [week["start"] for week in rest["periods"]] == ["2025-12-08", "2025-12-15"]
    assert rest["earlier"] is None
    assert f"before={first['earlier']}" in page(people, driver)


def test_another_drivers_runs_and_struck_ones_count_nowhere(
    people: People, garage: Garage, driver: Driver
) -> None:
    with viewing_as(people.chief.pk):
        other = add_driver(by=people.chief, team=people.team, display_name="Juno")
    ran(people, garage, other, MONDAY)
    assert asked(people, driver)["periods"] == []
    words = page(people, driver)
    assert "No runs of Pip yet." in words
    assert "Juno" not in words


@pytest.mark.parametrize("who", EVERYBODY)
def test_the_crew_and_their_coach_read_it(
    people: People, garage: Garage, driver: Driver, who: str
) -> None:
    client = browser_of(getattr(people, who))
    wanted = 200 if who in ("chief", "crew", "coach") else 403 if who == "guest" else 404
    assert client.get(f"/drivers/{driver.pk}/progress").status_code == wanted
    assert caller(client)("get", f"drivers/{driver.pk}/progress").status_code == wanted
    if who in ("crew", "coach", "guest"):
        linked = "/progress" in client.get(f"/drivers/{driver.pk}/").content.decode()
        assert linked == (wanted == 200)


def test_a_word_that_is_none_is_refused(people: People, driver: Driver) -> None:
    answer = browser_of(people.chief).get(f"/api/v1/drivers/{driver.pk}/progress", {"by": "year"})
    assert pointer(answer) == "#/by"


def test_as_many_queries_for_one_run_as_for_three(
    client: Client, people: People, garage: Garage, driver: Driver
) -> None:
    client.force_login(people.chief)
    path = f"/drivers/{driver.pk}/progress"

    def count() -> int:
        client.get(path)
        with CaptureQueriesContext(connection) as seen:
            client.get(path)
        return len([one for one in seen if "SAVEPOINT" not in one["sql"]])

    ran(people, garage, driver, MONDAY)
    one = count()
    for week in (1, 2):
        ran(people, garage, driver, MONDAY + timedelta(days=7 * week))
    assert count() == one <= 10
