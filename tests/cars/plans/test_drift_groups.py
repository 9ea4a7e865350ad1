"""Drift by the part that was on and by the track."""

from collections.abc import Sequence
from statistics import median
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cars.catalogue.queries import catalogue
from cars.garage.actions.parts import add_part
from cars.mechanics.drift import MAD_FACTOR, Place
from cars.models import Part, Sheet
from cars.plans.queries.drift_groups import drift_by_part, drift_by_track
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.parts_fitted import fit_part
from clubsetup.access.viewer import viewing_as
from teams.actions.places import add_track
from teams.models import Track
from tests.cars.garage import Garage
from tests.cars.plans.test_drift import sheet
from tests.cars.runs.test_api import caller, done
from tests.markup import one_line
from tests.people import People

HEIGHT = "ride-height.LF"
SIXTEENTHS = {0: "2 1/4", -1: "2 3/16", -2: "2 1/8", -3: "2 1/16", 1: "2 5/16"}


@pytest.fixture
def springs(people: People, garage: Garage) -> list[Part]:
    with viewing_as(people.chief.pk):
        given: dict[str, Any] = {"by": people.chief, "team": people.team, "sort": "spring"}
        return [add_part(code=code, **given) for code in ("blue 7", "red 3")]


@pytest.fixture
def tracks(people: People, garage: Garage) -> list[Track]:
    with viewing_as(people.steward.pk):
        given: dict[str, Any] = {"by": people.steward, "club": people.club, "surface": "paved"}
        return [add_track(name=name, **given) for name in ("Home", "Away")]


def weekends(
    people: People,
    garage: Garage,
    moved: Sequence[int],
    *,
    week: int = 0,
    part: Part | None = None,
    then: Part | None = None,
    track: Track | None = None,
    found_at: Track | None = None,
) -> None:
    """So many sixteenths from set to found; `then` is on as found."""
    for place, by in enumerate(moved):
        number = week + place
        as_set = sheet(garage, people, "set", number, {HEIGHT: "2 1/4"}, track=track)
        fit(people, as_set, part)
        head = {"track": found_at or track, "based_on": as_set}
        found = sheet(garage, people, "found", number + 1, {HEIGHT: SIXTEENTHS[by]}, **head)
        if then or part:
            fit(people, found, then or part)


def fit(people: People, on: Sheet, part: Part | None) -> None:
    if part is not None:
        given: dict[str, Any] = {"by": people.chief, "sheet": on, "seen": OVER_ANYTHING}
        fit_part(sort="spring", spot="LF", part=part, **given)


def groups(found: list[Any], sort: str = "spring") -> dict[str, Any]:
    (only,) = [
        each for each in found if each.place == Place("ride-height", "LF") and each.sort == sort
    ]
    return {group.name: group for group in only.groups}


def test_each_part_has_its_own_middle_and_spread(
    people: People, garage: Garage, springs: list[Part], client: Client
) -> None:
    sags, holds = [-1, -2, -3, -1], [0, 0, 1]
    with viewing_as(people.chief.pk):
        weekends(people, garage, sags, part=springs[0])
        weekends(people, garage, holds, week=10, part=springs[1])
        found = groups(drift_by_part(garage.car, catalogue()))
        blue, red = found["blue 7"], found["red 3"]
        assert (blue.habit.weekends, red.habit.weekends) == (4, 3)
        assert blue.habit.middle == pytest.approx(-1.5 * 25.4 / 16)
        away = median(abs(each - median(sags)) for each in sags)
        assert blue.habit.spread == pytest.approx(MAD_FACTOR * away * 25.4 / 16)
        assert red.habit.middle == 0
    client.force_login(people.chief)
    text = one_line(client.get(f"/cars/{garage.car.pk}/drift/by-part").content.decode())
    assert "Ride height LF, by spring" in text
    assert "blue 7" in text
    assert "−3/32 in" in text


def test_under_three_weekends_are_too_few(
    people: People, garage: Garage, springs: list[Part], client: Client
) -> None:
    with viewing_as(people.chief.pk):
        weekends(people, garage, [-1, -2], part=springs[0])
        assert not groups(drift_by_part(garage.car, catalogue()))["blue 7"].is_enough
    client.force_login(people.chief)
    text = one_line(client.get(f"/cars/{garage.car.pk}/drift/by-part").content.decode())
    assert "too few to tell" in text
    assert "−" not in text.split("<h1>")[1]
    told = done(caller(client)("get", f"cars/{garage.car.pk}/drift/by-part"))
    assert [(each["spot"], each["groups"][0]["is_enough"]) for each in told] == [("LF", False)]


def test_a_weekend_in_which_the_part_was_swapped_counts_for_neither(
    people: People, garage: Garage, springs: list[Part]
) -> None:
    with viewing_as(people.chief.pk):
        weekends(people, garage, [-1, -1, -1], part=springs[0])
        weekends(people, garage, [-3], week=10, part=springs[0], then=springs[1])
        found = groups(drift_by_part(garage.car, catalogue()))
        assert {name: each.habit.weekends for name, each in found.items()} == {"blue 7": 3}


def test_by_track_where_both_sheets_name_one(
    people: People, garage: Garage, tracks: list[Track], client: Client
) -> None:
    home, away = tracks
    with viewing_as(people.chief.pk):
        weekends(people, garage, [-1, -1, -2], track=home)
        weekends(people, garage, [0, 0, 0], week=10, track=away)
        weekends(people, garage, [-3], week=20, track=home, found_at=away)
        found = groups(drift_by_track(garage.car, catalogue()), sort="")
        assert {name: each.habit.weekends for name, each in found.items()} == {"Home": 3, "Away": 3}
        assert found["Home"].habit.middle == pytest.approx(-25.4 / 16)
    client.force_login(people.coach)
    text = one_line(client.get(f"/cars/{garage.car.pk}/drift/by-track").content.decode())
    assert "Ride height LF" in text
    assert "Home" in text
    # By part is not for a coach who may not see the codes.
    assert client.get(f"/cars/{garage.car.pk}/drift/by-part").status_code == 403
    call = caller(client)
    assert call("get", f"cars/{garage.car.pk}/drift/by-part").status_code == 403
    told = done(call("get", f"cars/{garage.car.pk}/drift/by-track"))
    assert [group["name"] for group in told[0]["groups"]] == ["Away", "Home"]


def test_queries_do_not_grow_with_weekends(
    people: People, garage: Garage, springs: list[Part], tracks: list[Track]
) -> None:
    def asked() -> list[int]:
        counts = []
        for drift in (drift_by_part, drift_by_track):
            with CaptureQueriesContext(connection) as queries:
                drift(garage.car, catalogue())
            counts.append(len(queries))
        return counts

    with viewing_as(people.chief.pk):
        weekends(people, garage, [-1], part=springs[0], track=tracks[0])
        one = asked()
        weekends(people, garage, [-1, -2], week=5, part=springs[1], track=tracks[1])
        assert asked() == one
