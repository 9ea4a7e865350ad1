"""A large archive is left to the worker: kept, brought in whole, or dropped with why."""

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from cars.exchange.actions import import_work
from cars.exchange.actions.archive_background import begin_archive
from cars.exchange.actions.imports import begin_import, withdraw_import
from cars.exchange.files.archive_input import IN_THE_REQUEST
from cars.models import Import, ImportedArchive
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.viewer import viewing_as
from tests.cars.exchange.unpacked import empty_archive
from tests.people import People

LARGE = empty_archive() + b" " * IN_THE_REQUEST


def browser(user: Any) -> Client:
    client = Client()
    client.force_login(user)
    return client


def sent(people: People, content: bytes) -> Any:
    where = reverse("archive-bring-in", args=[people.team.pk])
    file = SimpleUploadedFile("wrens.json", content)
    return browser(people.crew).post(where, {"file": file}, follow=True)


def test_a_large_archive_comes_in_in_the_background(people: People) -> None:
    shown = sent(people, LARGE)
    assert "Waiting to be brought in" in shown.content.decode()
    with viewing_as(people.crew.pk):
        row = Import.objects.get()
        assert (row.kind, row.state, row.file_name) == ("archive", "waiting", "wrens.json")
        assert not ImportedArchive.objects.exists()
    import_work.work_on(row.pk)
    with viewing_as(people.crew.pk):
        row.refresh_from_db()
        assert (row.state, row.cells) == ("done", [])
        imported = ImportedArchive.objects.get()
        assert (imported.by, imported.digest) == (people.crew, row.digest)
        with pytest.raises(WrongState, match="stays"):
            withdraw_import(by=people.crew, row=row)
    page = browser(people.crew).get(f"/imports/{row.pk}/").content.decode()
    assert reverse("archive", args=[imported.pk]) in page


def test_what_is_small_comes_in_at_once(people: People) -> None:
    assert "came in" in sent(people, empty_archive()).content.decode()
    with viewing_as(people.crew.pk):
        assert not Import.objects.exists()
        assert ImportedArchive.objects.exists()


@pytest.mark.parametrize(
    ("content", "why"),
    [(b"[1, 2]" + b" " * IN_THE_REQUEST, "no archive of a team"), (LARGE[1:], "no JSON")],
)
def test_what_is_wrong_in_it_is_told_on_its_page(people: People, content: bytes, why: str) -> None:
    sent(people, content)
    with viewing_as(people.crew.pk):
        row = Import.objects.get()
    import_work.work_on(row.pk)
    with viewing_as(people.crew.pk):
        row.refresh_from_db()
        assert (row.state, row.cells) == ("dropped", [])
        assert why in row.problem
        assert not ImportedArchive.objects.exists()
    assert why in browser(people.crew).get(f"/imports/{row.pk}/").content.decode()


@pytest.mark.parametrize("content", [b"\xff\xfe" * IN_THE_REQUEST, b"\0" * (IN_THE_REQUEST + 1)])
def test_what_is_no_text_is_refused_where_it_was_chosen(people: People, content: bytes) -> None:
    answer = sent(people, content)
    assert "This is no JSON" in answer.content.decode()
    with viewing_as(people.crew.pk):
        assert not Import.objects.exists()


def test_over_the_api_it_is_an_import_of_its_own_kind(people: People) -> None:
    client = browser(people.crew)
    body = {"team": people.team.pk}
    refused = client.post("/api/v1/archives", {**body, "file": SimpleUploadedFile("a.json", LARGE)})
    assert refused.status_code == 400
    assert "kind `archive`" in refused.content.decode()
    file = SimpleUploadedFile("a.json", LARGE)
    made = client.post("/api/v1/imports", {**body, "kind": "archive", "file": file})
    assert made.status_code == 201, made.content
    assert made.json()["state"] == "waiting"
    import_work.work_on(made.json()["id"])
    assert client.get(f"/api/v1/imports/{made.json()['id']}").json()["state"] == "done"
    assert len(client.get("/api/v1/archives").json()["results"]) == 1


@pytest.mark.parametrize("who", ["guest", "coach", "rival", "stranger"])
def test_others_than_the_crew_send_none(people: People, who: str) -> None:
    by = getattr(people, who)
    with viewing_as(by.pk), pytest.raises(NotAllowed):
        begin_archive(by=by, team=people.team, file_name="a.json", content=LARGE)


def test_a_table_is_never_an_archive(people: People) -> None:
    with viewing_as(people.crew.pk), pytest.raises(Invalid, match="what the file holds"):
        begin_import(
            by=people.crew, team=people.team, kind="archive", file_name="a", content=b"a,b\n1,2\n"
        )
