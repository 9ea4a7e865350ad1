"""A car that came from another team: what it ran before is not the next team's to note."""

import json
from datetime import datetime, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from cars.models import Car, Ownership, Run
from cars.runs.actions.runs import RunFacts, correct_run, note_run
from cars.sheets.actions.conflicts import OVER_ANYTHING
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.viewer import viewing_as
from clubsetup.clock.writing import day
from tests.cars.handover.giving import Giving
from tests.people import People

DIRT = RunFacts(surface="dirt")


@pytest.fixture
def taken(giving: Giving, people: People) -> Car:
    _, code = giving.offer(people.chief, "set")
    giving.take(code)
    with viewing_as(giving.receiver.pk):
        return Car.objects.select_related("team__club", "chassis").get(pk=giving.garage.car.pk)


def noon(giving: Giving, car: Car, days: int) -> datetime:
    """Noon, so many days after the receiver got it, by the clock of their club."""
    since = Ownership.objects.get(car=car, until=None).since
    return datetime.combine(
        since + timedelta(days=days), datetime.min.time(), giving.to_team.club.zone()
    ) + timedelta(hours=12)


def test_a_run_before_the_team_had_the_car_is_refused(giving: Giving, taken: Car) -> None:
    by = giving.receiver
    with viewing_as(by.pk):
        before = noon(giving, taken, -1)
        since = Ownership.objects.get(car=taken, until=None).since
        with pytest.raises(Invalid, match=f"since {day(since)}") as refused:
            note_run(by=by, car=taken, facts=DIRT, ran_at=before)
        assert refused.value.field == "ran_at"
        run = note_run(by=by, car=taken, facts=DIRT)
        with pytest.raises(Invalid, match=f"since {day(since)}") as refused:
            correct_run(by=by, run=run, facts=DIRT, expected=OVER_ANYTHING, ran_at=before)
        assert refused.value.field == "ran_at"
        # On the day itself: whoever had it at noon, it is this team's word.
        start = noon(giving, taken, 0) - timedelta(hours=12)
        assert note_run(by=by, car=taken, facts=DIRT, ran_at=start).ran_at == start


def test_the_team_that_had_it_first_notes_what_it_ran_before_it_was_entered_here(
    giving: Giving, people: People
) -> None:
    """A season on paper is typed in after the car was."""
    long_ago = timezone.now() - timedelta(days=900)
    with viewing_as(people.chief.pk):
        note_run(by=people.chief, car=giving.garage.car, facts=DIRT, ran_at=long_ago)


def test_the_page_and_the_api_name_the_field(giving: Giving, taken: Car) -> None:
    client = Client()
    client.force_login(giving.receiver)
    with viewing_as(giving.receiver.pk):
        before = noon(giving, taken, -1)
        since = day(Ownership.objects.get(car=taken, until=None).since)
    sent = {"car": str(taken.pk), "surface": "dirt", "ran_at": before.isoformat()}
    answer = client.post("/api/v1/runs", json.dumps(sent), content_type="application/json")
    assert answer.status_code == 400, answer.content
    assert since in answer.content.decode()
    assert "ran_at" in answer.content.decode()
    # A phone that waited for a connection sends it with the time by its own clock.
    sent = {"row_id": str(new_id()), "kind": "practice", "surface": "dirt"}
    answer = client.post(
        f"/cars/{taken.pk}/track",
        {**sent, "device_at": before.isoformat()},
        headers={"Device-Sender": str(giving.receiver.pk)},
    )
    assert answer.json()["status"] == "refused"
    assert "Went out at" in answer.json()["says"]
    assert since in answer.json()["says"]
    with viewing_as(giving.receiver.pk):
        assert not Run.objects.filter(car=taken).exists()
