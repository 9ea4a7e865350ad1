"""Prints over the API: asked for once however often it is sent, and fetched by their asker only."""

import io
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from clubsetup.access.account import make_token
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.models import PrintJob
from clubsetup.printing.tasks import make_print
from tests.people import People
from tests.printing.documents import TEAM_CARD

pytestmark = pytest.mark.django_db

PRINTS = "/api/v1/prints"


@pytest.fixture
def crew(people: People, client: Client) -> Client:
    client.force_login(people.crew)
    return client


def ask(client: Client, people: People, **more: Any) -> Any:
    given = {"document": TEAM_CARD.key, "subject_id": str(people.team.pk), **more}
    return client.post(PRINTS, given, content_type="application/json")


def test_asked_for_watched_and_fetched(people: People, crew: Client) -> None:
    answer = ask(crew, people)
    assert answer.status_code == 201
    job = answer.json()
    assert (job["state"], job["file"], job["pages"]) == ("waiting", None, None)
    where = f"{PRINTS}/{job['id']}"
    assert crew.get(f"{where}/file").status_code == 404
    make_print(job["id"])
    job = crew.get(where).json()
    assert (job["state"], job["pages"]) == ("done", 1)
    file = crew.get(job["file"], headers={"Accept": "application/pdf"})
    assert file["Content-Type"] == "application/pdf"
    assert len(PdfReader(io.BytesIO(file.getvalue())).pages) == 1
    assert [row["id"] for row in crew.get(PRINTS).json()["results"]] == [job["id"]]


def test_sent_twice_is_asked_for_once(people: People, crew: Client) -> None:
    chosen = str(uuid4())
    first, again = ask(crew, people, id=chosen), ask(crew, people, id=chosen)
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json()
    with viewing_as(people.crew.pk):
        assert PrintJob.objects.count() == 1
    other = ask(crew, people, id=chosen, subject_id=str(people.rival_team.pk))
    assert other.status_code == 409


@pytest.mark.parametrize(
    ("more", "status"),
    [
        ({"document": "no-such"}, 404),
        ({"subject_id": "0190a1b2-0000-7000-8000-000000000000"}, 404),
        ({"subject_id": "not an id"}, 400),
        ({"document": "not a slug"}, 400),
    ],
)
def test_what_cannot_be_printed_is_a_problem(
    people: People, crew: Client, more: dict[str, str], status: int
) -> None:
    answer = ask(crew, people, **more)
    assert answer.status_code == status
    assert answer["Content-Type"] == "application/problem+json"


def test_others_neither_see_nor_fetch_it(people: People, crew: Client) -> None:
    job_id = ask(crew, people).json()["id"]
    make_print(job_id)
    for who in (people.chief, people.coach, people.steward, people.official, people.stranger):
        crew.force_login(who)
        assert crew.get(f"{PRINTS}/{job_id}").status_code == 404
        assert crew.get(reverse("api-print-file", args=[job_id])).status_code == 404
        assert crew.get(PRINTS).json()["results"] == []


def test_a_missing_file_is_a_problem_to_a_client_that_takes_pdf_only(
    people: People, crew: Client
) -> None:
    job_id = ask(crew, people).json()["id"]
    answer = crew.get(f"{PRINTS}/{job_id}/file", headers={"Accept": "application/pdf"})
    assert answer.status_code == 404
    assert answer["Content-Type"] == "application/problem+json"
    assert b"Not Found" in answer.content


@pytest.mark.parametrize(
    ("scopes", "allowed"), [(["print"], True), (["read", "write"], False), (["read"], False)]
)
def test_a_token_needs_the_scope(
    people: People, client: Client, scopes: list[str], allowed: bool
) -> None:
    with viewing_as(people.crew.pk):
        _, secret = make_token(by=people.crew, name="bench tablet", scopes=scopes, days=1)
    headers = {"Authorization": f"Bearer {secret}"}
    assert client.get(PRINTS, headers=headers).status_code == (200 if allowed else 403)
    answer = client.post(
        PRINTS,
        {"document": TEAM_CARD.key, "subject_id": str(people.team.pk)},
        content_type="application/json",
        headers=headers,
    )
    assert answer.status_code == (201 if allowed else 403)


def test_signed_out_is_401(people: People, client: Client) -> None:
    assert client.get(PRINTS).status_code == 401
    assert ask(client, people).status_code == 401
