"""Creating with an id that the client made: sending twice makes one."""

import threading
import time
from collections.abc import Iterator
from typing import Any
from uuid import UUID

import pytest
from django.db import IntegrityError, connection, connections
from django.test import Client
from django.urls import reverse
from pytest_django.plugin import DjangoDbBlocker

from clubsetup.access.errors import WrongState
from clubsetup.access.idempotency import create_once
from clubsetup.access.ids import new_id
from clubsetup.access.models import IdempotencyKey, TrailLine, User
from clubsetup.access.viewer import viewing_as
from teams.actions.drivers import add_driver
from teams.models import Driver
from tests.people import People

DRIVERS = "/api/v1/drivers"


def send(client: Client, **given: Any) -> Any:
    return client.post(DRIVERS, given, content_type="application/json")


@pytest.fixture
def crew_client(client: Client, people: People) -> Client:
    client.force_login(people.crew)
    return client


def count(people: People) -> int:
    with viewing_as(people.crew.pk):
        return Driver.objects.count()


class TestTheApi:
    def test_sent_twice_makes_one(self, crew_client: Client, people: People) -> None:
        given = {"id": str(new_id()), "team": str(people.team.pk), "display_name": "Pip"}
        first, second = send(crew_client, **given), send(crew_client, **given)
        assert (first.status_code, second.status_code) == (201, 200)
        assert first.json() == second.json()
        assert first.json()["id"] == given["id"]
        assert count(people) == 1
        with viewing_as(people.crew.pk):
            assert TrailLine.objects.filter(on_id=given["id"]).count() == 1

    def test_sent_again_after_a_change_gives_the_row_as_it_is_now(
        self, crew_client: Client, people: People
    ) -> None:
        given = {"id": str(new_id()), "team": str(people.team.pk), "display_name": "Pip"}
        send(crew_client, **given)
        path = reverse("api-driver-detail", args=[given["id"]])
        crew_client.patch(path, {"display_name": "Pippa"}, content_type="application/json")
        again = send(crew_client, **given)
        assert (again.status_code, again.json()["display_name"]) == (200, "Pippa")

    def test_other_content_under_the_same_id_is_refused(
        self, crew_client: Client, people: People
    ) -> None:
        given = {"id": str(new_id()), "team": str(people.team.pk), "display_name": "Pip"}
        send(crew_client, **given)
        answer = send(crew_client, **{**given, "display_name": "Juno"})
        assert answer.status_code == 409
        assert answer["Content-Type"] == "application/problem+json"
        assert "other content" in answer.json()["detail"]
        assert count(people) == 1

    def test_the_same_content_to_another_address_is_other_content(
        self, crew_client: Client, people: People
    ) -> None:
        given = {"id": str(new_id()), "team": str(people.team.pk), "display_name": "Pip"}
        send(crew_client, **given)
        weight = {"id": given["id"], "driver": given["id"], "weighed_on": "2026-03-01"}
        answer = crew_client.post(
            "/api/v1/driver-weights", {**weight, "mass": "70 lb"}, content_type="application/json"
        )
        assert answer.status_code == 409

    def test_somebody_elses_id_is_taken_whether_seen_or_not(
        self, client: Client, people: People
    ) -> None:
        given = {"id": str(new_id()), "team": str(people.team.pk), "display_name": "Pip"}
        client.force_login(people.crew)
        send(client, **given)
        client.force_login(people.chief)  # sees the row
        assert send(client, **given).status_code == 409
        client.force_login(people.rival)  # does not
        hers = {**given, "team": str(people.rival_team.pk)}
        answer = send(client, **hers)
        assert answer.status_code == 409
        assert "Pip" not in answer.content.decode()
        with viewing_as(people.rival.pk):
            assert not Driver.objects.exists()

    def test_the_id_of_a_row_made_elsewhere_is_taken(
        self, crew_client: Client, people: People
    ) -> None:
        with viewing_as(people.crew.pk):
            made = add_driver(by=people.crew, team=people.team, display_name="Pip")
        answer = send(crew_client, id=str(made.pk), team=str(people.team.pk), display_name="Juno")
        assert answer.status_code == 409

    def test_what_is_refused_leaves_the_id_free(self, crew_client: Client, people: People) -> None:
        chosen = str(new_id())
        refused = send(crew_client, id=chosen, team=str(people.team.pk), display_name=" ")
        assert refused.status_code == 400
        answer = send(crew_client, id=chosen, team=str(people.team.pk), display_name="Pip")
        assert answer.status_code == 201

    def test_a_refusal_by_the_action_leaves_the_id_free_too(
        self, crew_client: Client, people: People
    ) -> None:
        send(crew_client, team=str(people.team.pk), display_name="Pip")
        chosen = str(new_id())
        refused = send(crew_client, id=chosen, team=str(people.team.pk), display_name="Pip")
        assert refused.status_code == 400
        assert refused.json()["errors"][0]["pointer"] == "#/display_name"
        answer = send(crew_client, id=chosen, team=str(people.team.pk), display_name="Juno")
        assert answer.status_code == 201

    def test_without_an_id_the_server_makes_one(self, crew_client: Client, people: People) -> None:
        answer = send(crew_client, team=str(people.team.pk), display_name="Pip")
        assert answer.status_code == 201
        assert UUID(answer.json()["id"]).version == 7

    def test_an_id_that_is_none_is_refused(self, crew_client: Client, people: People) -> None:
        answer = send(crew_client, id="7", team=str(people.team.pk), display_name="Pip")
        assert answer.status_code == 400
        assert answer.json()["errors"][0]["pointer"] == "#/id"

    def test_what_was_removed_since_is_not_made_again(
        self, crew_client: Client, people: People
    ) -> None:
        driver = send(crew_client, team=str(people.team.pk), display_name="Pip").json()["id"]
        given = {"id": str(new_id()), "driver": driver, "weighed_on": "2026-03-01", "mass": "70 lb"}
        path = "/api/v1/driver-weights"
        crew_client.post(path, given, content_type="application/json")
        crew_client.delete(f"{path}/{given['id']}")
        answer = crew_client.post(path, given, content_type="application/json")
        assert answer.status_code == 409
        assert "removed since" in answer.json()["detail"]

    def test_a_receipt_is_its_senders_alone(self, crew_client: Client, people: People) -> None:
        given = {"id": str(new_id()), "team": str(people.team.pk), "display_name": "Pip"}
        send(crew_client, **given)
        for who, seen in ((people.crew, 1), (people.chief, 0), (people.steward, 0)):
            with viewing_as(who.pk):
                assert IdempotencyKey.objects.count() == seen


@pytest.fixture
def committed_user(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[User]:
    """Somebody whom a second connection sees too; removed by the owner afterwards."""
    with django_db_blocker.unblock():
        user = User.objects.create_user("twice@example.org", "correct horse 9", name="Twice")
        yield user
        with connections["owner"].cursor() as owner:
            owner.execute("DELETE FROM access_idempotencykey WHERE by_id = %s", [user.pk])
            owner.execute("DELETE FROM access_user WHERE id = %s", [user.pk])
        connections.close_all()


def test_the_same_sent_twice_at_once_makes_one(committed_user: User) -> None:
    """Two connections, the second while the first is not committed yet."""
    user = committed_user
    chosen, entered, made = new_id(), threading.Event(), []

    def find(row_id: UUID) -> IdempotencyKey | None:
        return IdempotencyKey.objects.filter(pk=row_id).first()

    def slow_make(row_id: UUID) -> IdempotencyKey:
        entered.set()
        until_blocked(1)
        return IdempotencyKey.objects.get(pk=row_id)

    def until_blocked(waiting: int) -> None:
        """Returns when a second connection waits for this one's row."""
        with connection.cursor() as cursor:
            for _ in range(2000):
                cursor.execute(
                    "SELECT count(*) FROM pg_locks WHERE NOT granted AND locktype = 'transactionid'"
                )
                row = cursor.fetchone()
                if row and row[0] >= waiting:
                    return
                time.sleep(0.005)
        raise AssertionError("the second request never waited for the first")

    def second() -> None:
        entered.wait(20)
        try:
            with viewing_as(user.pk):
                made.append(
                    create_once(by=user, row_id=chosen, content=[1], make=slow_make, find=find)[1]
                )
        finally:
            connections.close_all()

    other = threading.Thread(target=second)
    other.start()
    with viewing_as(user.pk):
        made.append(create_once(by=user, row_id=chosen, content=[1], make=slow_make, find=find)[1])
    other.join(30)
    assert made == [True, False]


def test_an_integrity_error_of_another_kind_is_not_swallowed(people: People) -> None:
    def twice(row_id: UUID) -> Driver:
        Driver.objects.create(pk=row_id, team=people.team, display_name="Pip")
        return Driver.objects.create(team=people.team, display_name="Pip")

    with viewing_as(people.crew.pk), pytest.raises(IntegrityError, match="driver_name_once"):
        create_once(by=people.crew, row_id=new_id(), content=[], make=twice, find=lambda _: None)


def test_a_taken_id_says_so(people: People) -> None:
    with viewing_as(people.crew.pk):
        driver = add_driver(by=people.crew, team=people.team, display_name="Pip")

        def make(row_id: UUID) -> Driver:
            return Driver.objects.create(pk=row_id, team=people.team, display_name="Juno")

        with pytest.raises(WrongState, match="taken"):
            create_once(
                by=people.crew, row_id=driver.pk, content=[], make=make, find=lambda _: None
            )
