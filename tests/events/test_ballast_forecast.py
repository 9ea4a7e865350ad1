"""The ballast forecast: what is told of the next event, and to whom."""

from collections.abc import Sequence
from datetime import date, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from cars.mechanics.growth import forecast_weight
from clubsetup.access.viewer import viewing_as
from events.actions.entries import enter, withdraw_entry
from events.actions.events import add_event_class, plan_event
from events.queries.ballast_forecast import ballast_forecast
from teams.actions.drivers import log_driver_weight
from teams.models import Driver
from tests.cars.runs.test_api import EVERYBODY, caller, done
from tests.events.meeting import Meeting, mass
from tests.markup import one_line
from tests.people import People

POUND = 0.45359237
# Pounds, every thirty days up to ten days ago.
GROWING = ["60", "61", "61.5", "63", "63.5", "64.5"]


@pytest.fixture
def next_race(meeting: Meeting) -> date:
    """In twenty days, with the Wrens' car and driver entered; from today's they withdrew."""
    people, on = meeting.people, timezone.localdate() + timedelta(days=20)
    with viewing_as(people.steward.pk):
        event = plan_event(
            by=people.steward,
            club=people.club,
            track=meeting.track,
            name="Winter Opener",
            starts_on=on,
            ends_on=on,
        )
        into = add_event_class(by=people.steward, event=event, race_class=meeting.race_class)
    with viewing_as(people.chief.pk):
        driver = Driver.objects.create(team=people.team, display_name="Wren")
        withdraw_entry(by=people.chief, entry=meeting.entry)
        enter(by=people.chief, event_class=into, car=meeting.car, driver=driver)
    return on


def wren(people: People) -> Driver:
    return Driver.objects.select_related("team__club").get(display_name="Wren")


def logged(people: People, masses: Sequence[str], apart: int = 30) -> None:
    with viewing_as(people.chief.pk):
        for place, text in enumerate(reversed(masses)):
            on = timezone.localdate() - timedelta(days=10 + apart * place)
            driver = wren(people)
            log_driver_weight(by=people.chief, driver=driver, weighed_on=on, mass=mass(text))


def page(people: People, who: str, path: str) -> str:
    client = Client()
    client.force_login(getattr(people, who))
    answer = client.get(path)
    assert answer.status_code == 200, path
    return one_line(answer.content.decode())


def test_less_ballast_by_the_day_with_its_uncertainty(
    meeting: Meeting, people: People, next_race: date
) -> None:
    logged(people, GROWING)
    days = [30.0 * place for place in range(6)]
    line = forecast_weight(days, [float(text) * POUND for text in GROWING], 150 + 10 + 20)
    with viewing_as(people.chief.pk):
        found = ballast_forecast(wren(people), people.chief)
        assert found is not None
        assert found.forecast is not None
        assert found.day == next_race
        assert found.ahead.car == meeting.car
        assert found.forecast.expected == pytest.approx(line.expected)
        assert found.least == pytest.approx(line.low - 64.5 * POUND)
        assert found.most == pytest.approx(line.high - 64.5 * POUND)
        pk = wren(people).pk
    told = f"{found.least / POUND:.1f} to {found.most / POUND:.1f}"
    for who in ("chief", "crew", "coach"):
        for path in (f"/drivers/{pk}/", f"/cars/{meeting.car.pk}/"):
            text = page(people, who, path)
            assert told in text, (who, path)
            assert "less ballast by" in text
            assert "Winter Opener" in text
    # A guest reads neither the log nor what follows from it.
    for path in (f"/drivers/{pk}/", f"/cars/{meeting.car.pk}/"):
        assert "Ballast at the next event" not in page(people, "guest", path)


@pytest.mark.parametrize(
    ("masses", "apart", "says"),
    [
        (["60", "61", "62"], 30, "Too few weighings: 3 in a year, and it takes 4."),
        (["60"] * 4, 0, "Too few weighings: all are of one day."),
        (["58", "59", "60", "61", "62"], 130, "Too few weighings: 3 in a year, and it takes 4."),
    ],
)
def test_it_says_when_it_cannot(
    meeting: Meeting, people: People, next_race: date, masses: list[str], apart: int, says: str
) -> None:
    logged(people, masses, apart)
    with viewing_as(people.chief.pk):
        pk = wren(people).pk
    assert says in page(people, "chief", f"/drivers/{pk}/")


def test_a_child_whose_weight_swings_may_need_more_or_less(
    meeting: Meeting, people: People, next_race: date
) -> None:
    logged(people, ["60", "63", "60", "63", "61", "62"])
    with viewing_as(people.chief.pk):
        pk = wren(people).pk
    text = page(people, "chief", f"/drivers/{pk}/")
    assert " more to " in text
    assert "less ballast by" in text


@pytest.mark.parametrize("who", EVERYBODY)
def test_who_may_ask(meeting: Meeting, people: People, next_race: date, who: str) -> None:
    logged(people, GROWING)
    with viewing_as(people.chief.pk):
        pk = wren(people).pk
    client = Client()
    client.force_login(getattr(people, who))
    answer = caller(client)("get", f"drivers/{pk}/ballast-forecast")
    wanted = {"guest": 403, **dict.fromkeys(("chief", "crew", "coach"), 200)}.get(who, 404)
    assert answer.status_code == wanted
    if wanted == 200:
        told = done(answer)
        assert told["weighings"] == 6
        assert told["less_ballast_least"] < told["less_ballast_most"]
        assert "less ballast by" in told["says"]
