"""Wearing the service out: what one person may do in a while."""

from pathlib import Path
from typing import Any

import pytest
from django.core.cache import cache
from django.db import ProgrammingError, connections, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clubsetup.access.counts import count_one, forget_old_counts
from clubsetup.access.models import User
from clubsetup.access.swept_cache import SweptFileCache
from tests.people import People
from tests.printing.documents import TEAM_CARD

pytestmark = pytest.mark.django_db


def signed_in(who: User) -> Client:
    client = Client()
    client.force_login(who)
    return client


def limit(settings: Any, **limits: tuple[int, int]) -> None:
    cache.clear()  # what the people did to be there does not count
    settings.PERSON_LIMITS = {**settings.PERSON_LIMITS, **limits}


def test_invitations(people: People, settings: Any) -> None:
    limit(settings, invitations=(2, 3600))
    client, where = signed_in(people.steward), reverse("club-invite", args=[people.club.pk])
    for _ in range(2):
        assert client.post(where, {"role": "coach"}).status_code == 200
    third = client.post(where, {"role": "coach"})
    assert (third.status_code, third["Retry-After"]) == (429, "3600")
    assert "more than 2 invitations in 60 minutes" in third.content.decode()
    # It is that person's limit, and nobody else's.
    chiefs = reverse("team-invite", args=[people.team.pk])
    assert signed_in(people.chief).post(chiefs, {"role": "crew"}).status_code == 200


def test_invitations_through_the_api(people: People, settings: Any) -> None:
    limit(settings, invitations=(1, 120))
    client = signed_in(people.steward)
    asked = {"club": str(people.club.pk), "role": "coach"}
    first = client.post("/api/v1/invitations", asked, content_type="application/json")
    assert first.status_code == 201, first.content
    second = client.post("/api/v1/invitations", asked, content_type="application/json")
    assert (second.status_code, second["Retry-After"]) == (429, "120")
    assert second["Content-Type"] == "application/problem+json"
    assert "Nothing was done" in second.json()["detail"]


def test_prints(people: People, settings: Any) -> None:
    limit(settings, prints=(0, 60))
    asked = {"document": TEAM_CARD.key, "subject_id": str(people.team.pk)}
    assert signed_in(people.chief).post(reverse("print-ask"), asked).status_code == 429


def test_calls(people: People, settings: Any) -> None:
    limit(settings, calls=(2, 60))
    client = signed_in(people.chief)
    assert [client.get("/api/v1/me").status_code for _ in range(3)] == [200, 200, 429]
    answer = client.get("/api/v1/me")
    assert answer["Retry-After"] == "60"
    assert answer.json()["detail"] == "Too many requests. Try again in 60 seconds."
    assert signed_in(people.crew).get("/api/v1/me").status_code == 200, "it is that person's"


@pytest.fixture
def counted_in_table(settings: Any) -> None:
    """As where no Redis is named."""
    settings.COUNTS_IN_CACHE = False


@pytest.mark.django_db(databases=["default", "counts"])
class TestInTheTable:
    """Where no Redis is named."""

    def test_calls(self, people: People, settings: Any, counted_in_table: None) -> None:
        settings.PERSON_LIMITS = {**settings.PERSON_LIMITS, "calls": (2, 60)}
        client = signed_in(people.chief)
        assert [client.get("/api/v1/me").status_code for _ in range(3)] == [200, 200, 429]
        assert 0 < int(client.get("/api/v1/me")["Retry-After"]) <= 60
        assert signed_in(people.crew).get("/api/v1/me").status_code == 200

    def test_a_call_costs_one_statement_and_none_of_the_requests_own(
        self, people: People, settings: Any, counted_in_table: None
    ) -> None:
        client = signed_in(people.chief)
        with CaptureQueriesContext(connections["default"]) as own:
            client.get("/api/v1/me")
        with CaptureQueriesContext(connections["counts"]) as counting:
            client.get("/api/v1/me")
        assert "count_one" not in str(own.captured_queries)
        assert [query["sql"].split("(")[0] for query in counting] == [
            "SELECT * FROM access.count_one"
        ]

    def test_what_is_refused_counts_too(
        self, people: People, settings: Any, counted_in_table: None
    ) -> None:
        with transaction.atomic():
            count_one("tries", 60)
            transaction.set_rollback(True)
        assert count_one("tries", 60).times == 2

    def test_a_while_ends(self, counted_in_table: None) -> None:
        assert [count_one("tries", 60).times for _ in range(3)] == [1, 2, 3]
        assert count_one("others", 60).times == 1
        with connections["counts"].cursor() as cursor:
            cursor.execute("SELECT seconds_left FROM access.count_one('tries', 5)")
            assert cursor.fetchone()[0] == 60, "the first one says when it ends"
        assert count_one("brief", 0).times == 1
        assert count_one("brief", 0).times == 1, "a while that is over begins anew"
        assert forget_old_counts() == 1
        assert count_one("tries", 60).times == 5

    def test_nobody_counts_down(self, counted_in_table: None) -> None:
        for statement in (
            "SELECT * FROM access.counts",
            "UPDATE access.counts SET count = 0",
            "DELETE FROM access.counts",
            "INSERT INTO access.counts VALUES ('tries', -9, now())",
        ):
            with pytest.raises(ProgrammingError, match="permission denied"), transaction.atomic():
                connections["default"].cursor().execute(statement)


def test_the_folder_is_not_listed_as_a_file_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = SweptFileCache(str(tmp_path), {"OPTIONS": {"MAX_ENTRIES": 2}})
    monkeypatch.setattr(folder, "_list_cache_files", lambda: pytest.fail("it was listed"))
    for number in range(5):
        folder.set(f"tries:{number}", [1.0], 60)
    assert [folder.get(f"tries:{number}") for number in range(5)] == [[1.0]] * 5


def test_the_sweeper_removes_what_has_run_out(tmp_path: Path) -> None:
    folder = SweptFileCache(str(tmp_path), {})
    folder.set("over", 1, 0)
    folder.set("gone", 1, 60)
    folder.set("standing", 1, 60)
    late = SweptFileCache(str(tmp_path), {})
    folder.touch("gone", -1)
    late.sweep()
    assert folder.get("standing") == 1
    assert len(list(tmp_path.iterdir())) == 1
