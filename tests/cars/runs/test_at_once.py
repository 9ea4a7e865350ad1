"""Two people who write at the track at once, on two connections: each has their turn."""

import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import pytest
from django.db import connections
from pytest_django.plugin import DjangoDbBlocker

from cars.models import Feel, Run, RunDetails, SuggestionTable
from cars.runs.actions import runs as run_actions
from cars.runs.actions.handed_over import note_driver_alone
from cars.runs.actions.runs import FeelSaid, RunFacts, correct_run, note_feel, note_run
from cars.runs.actions.suggestions import (
    FROM_STARTER,
    draft_suggestions,
    publish_suggestions,
    retire_suggestions,
)
from cars.runs.actions.weather import correct_weather, note_weather
from cars.sheets.actions.conflicts import OVER_ANYTHING
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage, make_garage
from tests.cars.runs.test_weather import AIR
from tests.people import People
from tests.standing_people import committed_people
from tests.teams.conftest import fresh
from tests.two_connections import at_once, wait_for_a_waiting_one

FACTS = RunFacts(surface="paved")


@dataclass
class Committed:
    people: People
    garage: Garage


@pytest.fixture
def committed(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Committed]:
    with django_db_blocker.unblock(), committed_people() as people:
        yield Committed(people, make_garage(people))


def ran(committed: Committed, facts: RunFacts = FACTS) -> Run:
    by = committed.people.chief
    with viewing_as(by.pk):
        return note_run(by=by, car=committed.garage.car, facts=facts)


def test_a_run_and_its_weather_are_corrected_at_once(
    committed: Committed, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The weather is corrected while the run is held and its facts are not written yet."""
    chief, crew = fresh(committed.people.chief), fresh(committed.people.crew)
    with viewing_as(chief.pk):
        weather = note_weather(by=chief, team=committed.people.team, **AIR)
    facts = RunFacts(surface="paved", weather=weather)
    run = ran(committed, facts)
    run_is_held, came_to = threading.Event(), []

    def correct() -> None:
        run_is_held.wait(20)
        try:
            with viewing_as(crew.pk):
                came_to.append(correct_weather(by=crew, weather=weather, **{**AIR, "humidity": 60}))
        finally:
            connections.close_all()

    holds = run_actions.held_run

    def hold(run: Run) -> Run:
        held = holds(run)
        run_is_held.set()
        wait_for_a_waiting_one()
        return held

    monkeypatch.setattr(run_actions, "held_run", hold)
    other = threading.Thread(target=correct)
    other.start()
    with viewing_as(chief.pk):
        noted = RunFacts(surface="paved", weather=weather, note="Loose out of four.")
        correct_run(by=chief, run=run, facts=noted, expected=OVER_ANYTHING)
    other.join(30)
    with viewing_as(chief.pk):
        (standing,) = RunDetails.objects.current().filter(run=run)
        assert standing.weather == came_to[0]
        assert standing.note == "Loose out of four."


def published(by: User, committed: Committed, begun: str) -> list[SuggestionTable]:
    """Two drafts, after a version in force where `begun` says so."""
    with viewing_as(by.pk):
        tables = [
            draft_suggestions(
                by=by, club=committed.people.club, begin=FROM_STARTER, note="Other rows."
            )
            for _ in range(3)
        ]
        publish_suggestions(by=by, table=tables[0])
        if begun == "retired":
            retire_suggestions(by=by, table=tables[0])
    return tables[1:]


@pytest.mark.parametrize("before", ["published", "retired"])
def test_of_two_drafts_published_at_once_the_second_is_in_force(
    committed: Committed, before: str
) -> None:
    steward = fresh(committed.people.steward)
    drafts = iter(tables := published(steward, committed, before))

    def publish(by: User) -> None:
        publish_suggestions(by=by, table=next(drafts))

    assert at_once(steward, fresh(steward), publish) == ["done", "done"]
    with viewing_as(steward.pk):
        states = [SuggestionTable.objects.get(pk=table.pk).state for table in tables]
    assert states == ["retired", "published"]


def test_what_the_driver_leaves_out_stays_as_it_was_noted_meanwhile(committed: Committed) -> None:
    chief, crew = fresh(committed.people.chief), fresh(committed.people.crew)
    run = ran(committed)
    feel = FeelSaid(entry="loose", steering="light")
    doing: dict[User, Callable[[], object]] = {
        chief: lambda: note_feel(
            by=chief, run=run, said_by="driver", feel=feel, expected=OVER_ANYTHING
        ),
        crew: lambda: note_driver_alone(by=crew, run=run, answers={"middle": "pushes"}),
    }
    assert at_once(chief, crew, lambda by: doing[by]()) == ["done", "done"]
    with viewing_as(chief.pk):
        said = Feel.objects.current().get(run=run, said_by=Feel.SaidBy.DRIVER)
    assert (said.entry, said.middle, said.steering) == ("loose", "pushes", "light")
