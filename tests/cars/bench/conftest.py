"""An open sheet of the Wrens' car, and people at the bench with it."""

import json
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.test import Client
from pytest_django.plugin import DjangoDbBlocker

from cars.models import Sheet
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage, make_garage
from tests.people import People
from tests.standing_people import committed_people

Standing = Callable[[], dict[str, str]]
Post = Callable[..., Any]


@pytest.fixture
def sheet(garage: Garage, people: People) -> Sheet:
    with viewing_as(people.crew.pk):
        return garage.sheet(people.crew)


@pytest.fixture
def standing(sheet: Sheet, people: People) -> Standing:
    """What stands on the sheet, by box; takes have their number."""

    def now() -> dict[str, str]:
        with viewing_as(people.chief.pk):
            rows = sheet.readings.current()
            return {
                f"{r.measure_id}.{r.spot}" + (f".{r.take}" if r.take > 1 else ""): r.typed
                for r in rows
            }

    return now


def as_user(user: User | None) -> Client:
    client = Client()
    if user is not None:
        client.force_login(user)
    return client


@pytest.fixture
def crew(people: People) -> Client:
    return as_user(people.crew)


@pytest.fixture
def chief(people: People) -> Client:
    return as_user(people.chief)


@pytest.fixture
def post(sheet: Sheet) -> Post:
    """To the found sheet."""
    return poster(sheet)


def poster(sheet: Sheet) -> Post:
    """Sends as the page's script does: `post(client, "ride-heights", box=..., text=...)`."""

    def send(client: Client, step: str, *readings: dict[str, Any], **one: Any) -> Any:
        rows = [{"id": str(new_id()), "seen": "none", **row} for row in readings or (one,)]
        return client.post(
            f"/sheets/{sheet.pk}/bench/{step}/save",
            json.dumps({"readings": rows}),
            content_type="application/json",
        )

    return send


@pytest.fixture
def committed(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker
) -> Iterator[tuple[People, Garage, Sheet]]:
    """People, car and sheet that a second connection sees too; emptied by the owner afterwards."""
    with django_db_blocker.unblock(), committed_people() as people:
        garage = make_garage(people)
        with viewing_as(people.crew.pk):
            sheet = garage.sheet(people.crew)
        yield people, garage, sheet
