"""How often a page or a list asks the database: as often for three rows as for one."""

from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from teams.actions.drivers import add_driver, log_driver_weight
from teams.actions.invitations import invite
from teams.actions.places import add_race_class, add_track
from teams.actions.teams import link_coach, make_team
from tests.people import People, join, person
from tests.teams.conftest import Things, fresh

SignedIn = Callable[[str], Client]


def grow(people: People, things: Things, n: int) -> None:
    """One more of everything that a page lists."""
    steward, chief = fresh(people.steward), fresh(people.chief)
    coach, crew = person(f"coach {n}"), person(f"crew {n}")
    join(steward, coach, people.club, "coach")
    join(chief, crew, people.club, "crew", people.team)
    with viewing_as(steward.pk):
        make_team(by=steward, club=people.club, name=f"Team {n}")
        radius = parse("30 ft", Kind.LENGTH)
        add_track(by=steward, club=people.club, name=f"T{n}", surface="dirt", corner_radius=radius)
        add_race_class(by=steward, club=people.club, name=f"Class {n}")
        invite(by=steward, club=people.club, role="coach")
    with viewing_as(chief.pk):
        link_coach(by=chief, team=people.team, coach=coach)
        add_driver(by=chief, team=people.team, display_name=f"Driver {n}")
        mass = parse("70 lb", Kind.MASS)
        day = things.weight.weighed_on
        log_driver_weight(by=chief, driver=things.driver, weighed_on=day, mass=mass)
        invite(by=chief, club=people.club, team=people.team, role="guest")


def queries(client: Client, path: str) -> int:
    client.get(path)  # what is read once a process is read here
    with CaptureQueriesContext(
        connection,
    ) as seen:
        assert client.get(path).status_code == 200
    return len([q for q in seen if "SAVEPOINT" not in q["sql"]])


# Sign-in and viewer take 3: session, person, who is looking.
PAGES = [
    ("club", "steward", lambda p, t: p.club.pk, 10),
    ("team", "chief", lambda p, t: p.team.pk, 9),
    ("driver", "crew", lambda p, t: t.driver.pk, 9),
    ("club-people", "steward", lambda p, t: p.club.pk, 8),
    ("club-trail", "steward", lambda p, t: p.club.pk, 9),
    ("team-trail", "crew", lambda p, t: p.team.pk, 9),
]


@pytest.mark.parametrize(("name", "who", "of", "most"), PAGES, ids=[p[0] for p in PAGES])
def test_a_page_asks_as_often_for_three_as_for_one(
    people: People,
    things: Things,
    signed_in: SignedIn,
    name: str,
    who: str,
    of: Callable[[People, Things], object],
    most: int,
) -> None:
    path, client = reverse(name, args=[of(people, things)]), signed_in(who)
    grow(people, things, 1)
    one = queries(client, path)
    for n in (2, 3):
        grow(people, things, n)
    assert queries(client, path) == one
    assert one == most


LISTS = [
    ("clubs", "steward"),
    ("club-members", "steward"),
    ("invitations", "chief"),
    ("teams", "steward"),
    ("tracks", "guest"),
    ("race-classes", "guest"),
    ("team-members", "chief"),
    ("coach-links", "chief"),
    ("drivers", "coach"),
    ("driver-weights", "coach"),
]


@pytest.mark.parametrize(("path", "who"), LISTS, ids=[row[0] for row in LISTS])
def test_a_list_asks_as_often_for_three_as_for_one(
    people: People, things: Things, signed_in: SignedIn, path: str, who: str
) -> None:
    client = signed_in(who)
    grow(people, things, 1)
    one = queries(client, f"/api/v1/{path}")
    for n in (2, 3):
        grow(people, things, n)
    # Session, person, viewer, the three roles, the list; from outside the team, the line of who
    # read it.
    told = path in ("drivers", "driver-weights")
    assert queries(client, f"/api/v1/{path}") == one == 5 + told


@pytest.mark.parametrize("who", ["chief", "coach"])
def test_the_start_page_asks_as_often_for_three_teams_as_for_one(
    people: People, signed_in: SignedIn, who: str
) -> None:
    client, steward = signed_in(who), fresh(people.steward)
    one = queries(client, "/")
    for n in (1, 2):
        chief: User = person(f"chief {n}")
        with viewing_as(steward.pk):
            team = make_team(by=steward, club=people.club, name=f"Team {n}")
        join(steward, chief, people.club, "chief", team)
        if who == "chief":
            join(fresh(chief), people.chief, people.club, "crew", team)
        else:
            with viewing_as(chief.pk):
                link_coach(by=fresh(chief), team=team, coach=people.coach)
    assert queries(client, "/") == one
