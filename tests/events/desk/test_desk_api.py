"""Draws, records, results, corrections and coming back, over the API as on the pages."""

import io
import json
import zipfile
from typing import Any

import pytest
from rest_framework.test import APIClient

from clubsetup.access.ids import new_id
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from events.actions.entries import withdraw_entry
from events.models import Draw, Entry, ScaleSet
from events.records.actions.export import export_records
from events.records.queries.records import records_of
from tests.events.desk.conftest import EVERYBODY, MEMBERS
from tests.events.meeting import Meeting
from tests.events.photographs import jpeg
from tests.events.test_ballast_checks import look

API = "/api/v1"
DESK = ("official", "steward")


@pytest.fixture
def api(meeting: Meeting) -> APIClient:
    """The official's."""
    client = APIClient()
    client.force_login(meeting.people.official)
    return client


def drawing(meeting: Meeting, **changed: Any) -> dict[str, Any]:
    given = {"event": str(meeting.event.pk), "seed": "three sixes", "count": 1, "purpose": "Fuel"}
    return {**given, **changed}


def draw(api: APIClient, meeting: Meeting, **changed: Any) -> Any:
    return api.post(f"{API}/draws", drawing(meeting, **changed), format="json")


def codes(meeting: Meeting, where: str, sent: Any = None) -> dict[str, int]:
    """What each person is answered."""
    found = {}
    for name in EVERYBODY:
        client = APIClient()
        client.force_login(getattr(meeting.people, name))
        address = f"{API}/{where}"
        answer = (
            client.get(address) if sent is None else client.post(address, sent(), format="json")
        )
        found[name] = answer.status_code
    return found


def expected(members: int, strangers: int = 404, **others: int) -> dict[str, int]:
    usual = {name: members if name in MEMBERS else strangers for name in EVERYBODY}
    return {**usual, **others}


# Draws


def test_a_draw_is_made_listed_and_read(api: APIClient, meeting: Meeting) -> None:
    made = draw(api, meeting, count=2, event_class=str(meeting.event_class.pk))
    assert made.status_code == 201
    body = made.json()
    assert body["candidates"] == ["27", "31"]
    assert sorted(body["drawn"]) == ["27", "31"]
    assert body["seed"] == "three sixes"
    assert body["by"] == str(meeting.people.official.pk)
    api.force_login(meeting.people.rival)
    listed = api.get(f"{API}/draws", {"event": str(meeting.event.pk)}).json()["results"]
    assert listed == [body]
    assert api.get(f"{API}/draws/{body['id']}").json() == body


def test_every_member_can_repeat_it(api: APIClient, meeting: Meeting) -> None:
    body = draw(api, meeting, count=2).json()
    api.force_login(meeting.people.guest)
    again = api.get(f"{API}/draws/{body['id']}/repeat").json()
    assert again["repeats"] is True
    assert [one["car"] for one in again["tickets"]] == body["drawn"]
    digests = [one["digest"] for one in again["tickets"]]
    assert digests == sorted(digests)
    assert "sha256sum" in again["by_hand"]


def test_a_seed_counts_once_and_the_same_sent_twice_is_one_draw(
    api: APIClient, meeting: Meeting
) -> None:
    sent = {"id": str(new_id())}
    assert draw(api, meeting, **sent).status_code == 201
    assert draw(api, meeting, **sent).status_code == 200
    refused = draw(api, meeting)
    assert refused.status_code == 400
    assert refused.json()["errors"][0]["pointer"] == "#/seed"
    with viewing_as(meeting.people.official.pk):
        assert Draw.objects.count() == 1


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"count": 0}, "count"),
        ({"count": 9}, "count"),
        ({"seed": ""}, "seed"),
        ({"purpose": "x" * 81}, "purpose"),
    ],
)
def test_what_is_no_draw_names_the_field(
    api: APIClient, meeting: Meeting, changed: dict[str, Any], field: str
) -> None:
    answer = draw(api, meeting, **changed)
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == f"#/{field}"


def test_who_draws_and_who_reads(api: APIClient, meeting: Meeting) -> None:
    def sent() -> dict[str, Any]:
        return drawing(meeting, seed=str(new_id()))

    assert codes(meeting, "draws", sent) == expected(403, 400, official=201)
    one = draw(api, meeting).json()["id"]
    for where in (f"draws/{one}", f"draws/{one}/repeat"):
        assert codes(meeting, where) == expected(200), where


# Records


def test_the_chain_is_that_of_the_record_book(api: APIClient, meeting: Meeting) -> None:
    where = f"{API}/events/{meeting.event.pk}/records"
    assert api.get(where).json()["lines"] == 0
    assert api.get(where).json()["last_at"] is None
    meeting.weigh("321")
    with viewing_as(meeting.people.official.pk):
        found = records_of(meeting.event)
    body = api.get(where).json()
    assert (body["lines"], body["last_hash"]) == (len(found.links), found.last_hash)
    assert body["last_at"]


@pytest.mark.parametrize("kind", ["json", "csv"])
def test_the_files_are_those_of_the_page(api: APIClient, meeting: Meeting, kind: str) -> None:
    meeting.weigh("321")
    by = meeting.people.official
    answer = api.get(f"{API}/events/{meeting.event.pk}/records/file", {"kind": kind})
    with viewing_as(by.pk):
        assert answer.content.decode() == export_records(by=by, event=meeting.event, kind=kind)
        assert TrailLine.objects.filter(did="exported").count() == 2
    assert answer.headers["Content-Disposition"].endswith(f'june-meeting-records.{kind}"')
    assert answer.headers["Cache-Control"] == "private, no-store"


def test_the_zip_holds_files_and_photos(api: APIClient, meeting: Meeting) -> None:
    look(meeting, photo=jpeg())
    answer = api.get(f"{API}/events/{meeting.event.pk}/records/file", {"kind": "zip"})
    packed = zipfile.ZipFile(io.BytesIO(b"".join(answer)))
    names = packed.namelist()
    assert {"records.json", "records.csv"} <= set(names)
    assert any(name.endswith(".jpg") for name in names)


@pytest.mark.parametrize("accept", ["application/json", "text/csv", "application/zip", "*/*"])
def test_what_a_client_accepts_keeps_nobody_out(
    api: APIClient, meeting: Meeting, accept: str
) -> None:
    where = f"{API}/events/{meeting.event.pk}/records/file"
    assert api.get(where, {"kind": "csv"}, headers={"accept": accept}).status_code == 200
    wrong = api.get(where, {"kind": "pdf"}, headers={"accept": accept})
    assert wrong.status_code == 400
    assert json.loads(wrong.content)["errors"][0]["pointer"] == "#/kind"


def test_who_takes_records(meeting: Meeting) -> None:
    may = dict.fromkeys(DESK, 200)
    for end in ("records", "records/file?kind=json", "records/file?kind=zip"):
        assert codes(meeting, f"events/{meeting.event.pk}/{end}") == expected(403, **may), end


# Coming back, corrections, results


def test_a_withdrawn_entry_comes_back(api: APIClient, meeting: Meeting) -> None:
    where = f"{API}/entries/{meeting.entry.pk}/restore"
    assert api.post(where).status_code == 409
    with viewing_as(meeting.people.official.pk):
        withdraw_entry(by=meeting.people.official, entry=meeting.entry)
    answer = api.post(where)
    assert (answer.status_code, answer.json()["withdrawn_at"]) == (200, None)
    with viewing_as(meeting.people.official.pk):
        assert Entry.objects.get(pk=meeting.entry.pk).withdrawn_at is None


def test_who_brings_an_entry_back(meeting: Meeting) -> None:
    def sent() -> dict[str, Any]:
        by = meeting.people.official
        with viewing_as(by.pk):
            entry = Entry.objects.select_related("event").get(pk=meeting.entry.pk)
            if entry.withdrawn_at is None:
                withdraw_entry(by=by, entry=entry)
        return {}

    assert codes(meeting, f"entries/{meeting.entry.pk}/restore", sent) == expected(
        404, official=200, steward=200, chief=200, crew=200, guest=403, coach=403
    )


def test_a_steward_turns_corrections_on(meeting: Meeting) -> None:
    where = f"scale-sets/{meeting.scales.pk}/corrections"
    assert codes(meeting, where, lambda: {"applied": True}) == expected(403, steward=200)
    with viewing_as(meeting.people.steward.pk):
        assert ScaleSet.objects.get(pk=meeting.scales.pk).apply_corrections
    client = APIClient()
    client.force_login(meeting.people.steward)
    answer = client.post(f"{API}/{where}", {"applied": False}, format="json")
    assert answer.json()["apply_corrections"] is False
    assert client.post(f"{API}/{where}", {}, format="json").status_code == 400


def test_a_family_reads_what_would_make_it_legal(meeting: Meeting) -> None:
    meeting.weigh("318.6")
    client = APIClient()
    for name in ("chief", "coach"):
        client.force_login(getattr(meeting.people, name))
        (one,) = client.get(f"{API}/teams/{meeting.people.team.pk}/results").json()["results"]
        assert one["entry"]["id"] == str(meeting.entry.pk)
        assert one["state"] == "fails"
        assert one["remedies"][0] == "Add 1.4 lb of ballast, then weigh again."
        assert "fails" in {finding["outcome"] for finding in one["findings"]}


def test_who_reads_results(meeting: Meeting) -> None:
    others = dict.fromkeys(("rival", "unlinked_coach"), 403)
    where = f"teams/{meeting.people.team.pk}/results"
    assert codes(meeting, where) == expected(200, **others)
