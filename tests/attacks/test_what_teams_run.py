"""A steward makes four teams beside a real one, and asks for the middle of five."""

from datetime import timedelta
from decimal import Decimal
from functools import partial

import pytest
from django.db import connection
from django.test import Client
from django.utils import timezone

from cars.baselines.queries.fleet_spread import Run, what_teams_run
from clubsetup.access.viewer import viewing_as
from teams.actions.teams import make_team
from tests.cars.baselines.club_of_teams import Meadow, asked_at, make_meadow
from tests.cars.baselines.test_what_teams_run import FIVE, HEIGHT, asked
from tests.cars.garage import make_garage
from tests.clocks import database_at
from tests.guards.world import refused
from tests.owner import bend
from tests.people import People, join

STANDARD = {"ride-height.LF": "50.8"}
SECRET = {"ride-height.LF": "57.15"}


@pytest.fixture
def meadow(people: People) -> Meadow:
    return make_meadow(people, make_garage(people))


def made_up(meadow: Meadow, teams: int, *, weighed: bool = False) -> None:
    """As many teams of nobody's, with a car and a sheet of the steward's choice each."""
    people = meadow.people
    for place in range(teams):
        with viewing_as(people.steward.pk):
            team = make_team(by=people.steward, club=people.club, name=f"Nobody {place}")
        join(people.steward, meadow.keeper, people.club, "chief", team)
        meadow.teams.append(team)
        meadow.sheet(meadow.car(len(meadow.teams) - 1), STANDARD)
        if weighed:
            meadow.weighed(team, str(200 + place))


def page(meadow: Meadow) -> bytes:
    client = Client()
    client.force_login(meadow.people.steward)
    with database_at(asked_at()):
        answer = client.get(f"/api/v1/baselines/{meadow.baseline.pk}/review")
    assert answer.status_code == 200
    return answer.content


def test_made_up_teams_give_no_figure_of_the_real_one(meadow: Meadow) -> None:
    """Two below, two above, and the middle of five is the fifth's own."""
    meadow.sheet(meadow.car(0), SECRET)
    before = page(meadow)
    made_up(meadow, 4)
    assert asked(meadow.people.steward, meadow.baseline) == {}
    assert page(meadow) == before


def test_the_answer_is_the_same_byte_for_byte_with_them(meadow: Meadow) -> None:
    meadow.each(FIVE)
    before, found = page(meadow), asked(meadow.people.steward, meadow.baseline)
    assert found[HEIGHT] == Run(5, Decimal("57.15"), Decimal("3.175"))
    made_up(meadow, 9)
    assert asked(meadow.people.steward, meadow.baseline) == found
    assert page(meadow) == before


def test_a_weighing_counts_when_it_is_thirty_days_old(meadow: Meadow) -> None:
    """Teams weighed today say nothing until then, whatever day their event is said to be of."""
    meadow.each(FIVE)
    steward, baseline = meadow.people.steward, meadow.baseline
    with viewing_as(steward.pk):
        for days, teams in ((0, 0), (29, 0), (31, 5)):
            with database_at(timezone.now() + timedelta(days=days)):
                found = what_teams_run(baseline)
                assert sum(run.teams for run in found.values()) == teams, days


def test_an_event_said_to_be_of_long_ago_makes_no_weighing_older(meadow: Meadow) -> None:
    people, event = meadow.people, meadow.meeting.event
    long_ago = timezone.localdate() - timedelta(days=400)
    bend(event, starts_on=long_ago, ends_on=long_ago)
    meadow.sheet(meadow.car(0), SECRET)
    made_up(meadow, 4, weighed=True)
    with viewing_as(people.steward.pk):
        assert what_teams_run(meadow.baseline) == {}


def test_nobody_moves_the_time_of_a_weighing(meadow: Meadow) -> None:
    """The time is of a line that the app's role cannot write."""
    for name in ("steward", "official"):
        with viewing_as(getattr(meadow.people, name).pk):
            for statement in (
                "UPDATE events_recordline SET created_at = now() - interval '60 days'",
                "UPDATE events_weighin SET created_at = now() - interval '60 days'",
                "SELECT access.racing_teams()",
                "CREATE OR REPLACE FUNCTION access.server_now() RETURNS timestamptz "
                "LANGUAGE sql AS $$ SELECT now() + interval '60 days' $$",
            ):
                assert refused(partial(run, statement), whole=False), statement


def run(statement: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement)
