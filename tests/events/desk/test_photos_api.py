"""Photos over the API: a form with a file in, JSON and a picture out, sent twice made once."""

from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from rest_framework.test import APIClient

from clubsetup.access.ids import new_id
from clubsetup.access.viewer import viewing_as
from events.models import BallastCheck, BallastPhoto
from events.rules.photo import MOST_SENT, cleaned
from tests.events.desk.conftest import EVERYBODY
from tests.events.meeting import Meeting
from tests.events.photographs import jpeg, telling
from tests.events.test_ballast_checks import look

PHOTOS = "/api/v1/ballast-photos"
SEE = ("official", "steward", "chief", "crew", "guest", "coach")


@pytest.fixture
def api(meeting: Meeting) -> APIClient:
    """The official's."""
    client = APIClient()
    client.force_login(meeting.people.official)
    return client


@pytest.fixture
def check(meeting: Meeting) -> BallastCheck:
    return look(meeting)


def sending(check: BallastCheck, content: bytes, **more: Any) -> dict[str, Any]:
    photo = SimpleUploadedFile("IMG_0001.jpg", content, "image/jpeg")
    return {"ballast_check": str(check.pk), "photo": photo, **more}


def send(api: APIClient, check: BallastCheck, content: bytes = b"", **more: Any) -> Any:
    return api.post(PHOTOS, sending(check, content or jpeg(), **more), format="multipart")


def kept(meeting: Meeting) -> int:
    with viewing_as(meeting.people.official.pk):
        return BallastPhoto.objects.count()


def test_a_photo_is_kept_told_and_fetched(api: APIClient, check: BallastCheck) -> None:
    answer = send(api, check, telling(), device_at="2026-06-06T09:30:00Z")
    body, photo = answer.json(), cleaned(telling())
    assert answer.status_code == 201
    assert body["ballast_check"] == str(check.pk)
    assert body["entry"] == str(check.entry_id)
    assert (body["number"], body["width"], body["height"]) == (1, 400, 300)
    assert body["sha256"] == photo.sha256
    assert body["device_at"] == "2026-06-06T09:30:00Z"
    assert api.get(f"{PHOTOS}/{body['id']}").json() == body
    picture = api.get(body["file"])
    assert picture.content == photo.picture
    assert picture.headers["Content-Type"] == "image/jpeg"
    assert picture.headers["X-Content-Type-Options"] == "nosniff"
    assert picture.headers["Cache-Control"] == "private, no-store"
    assert api.get(body["file"], headers={"Accept": "image/jpeg"}).content == photo.picture


def test_the_look_names_its_photos(api: APIClient, check: BallastCheck) -> None:
    ids = [send(api, check).json()["id"] for _ in range(2)]
    assert api.get(f"/api/v1/ballast-checks/{check.pk}").json()["photos"] == ids


def test_sending_it_twice_makes_one(api: APIClient, meeting: Meeting, check: BallastCheck) -> None:
    row_id = str(new_id())
    first, again = (send(api, check, id=row_id) for _ in range(2))
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json()
    assert first.json()["id"] == row_id
    assert send(api, check, jpeg(300, 200), id=row_id).status_code == 409
    assert kept(meeting) == 1


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"no picture", "no picture that can be read"),
        (b"\0\0\0\x18ftypheic\0\0\0\0", "Set the camera to JPEG"),
        (jpeg() + b"\0" * MOST_SENT, "larger than 20 MB"),
    ],
)
def test_what_is_no_photo_is_pointed_at(
    api: APIClient, meeting: Meeting, check: BallastCheck, content: bytes, said: str
) -> None:
    answer = send(api, check, content)
    assert answer.status_code == 400
    (error,) = answer.json()["errors"]
    assert error["pointer"] == "#/photo"
    assert said in error["detail"]
    assert kept(meeting) == 0


@pytest.mark.parametrize(
    ("changed", "pointer"),
    [
        ({"ballast_check": str(uuid4())}, "#/ballast_check"),
        ({"photo": "not a file"}, "#/photo"),
        ({"device_at": "yesterday"}, "#/device_at"),
        ({"id": "1"}, "#/id"),
    ],
)
def test_what_else_is_wrong_is_pointed_at(
    api: APIClient, check: BallastCheck, changed: dict[str, str], pointer: str
) -> None:
    answer = api.post(PHOTOS, {**sending(check, jpeg()), **changed}, format="multipart")
    assert answer.status_code == 400
    assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]


def test_json_is_no_way_to_send_one(api: APIClient, check: BallastCheck) -> None:
    answer = api.post(PHOTOS, {"ballast_check": str(check.pk)}, format="json")
    assert answer.status_code == 415
    assert answer.headers["Content-Type"] == "application/problem+json"


def test_a_fourth_is_told_why_not(api: APIClient, check: BallastCheck) -> None:
    for _ in range(3):
        assert send(api, check).status_code == 201
    answer = send(api, check)
    assert answer.status_code == 409
    assert "3 photos already" in answer.json()["detail"]


@pytest.mark.parametrize("name", EVERYBODY)
def test_who_reads_it(api: APIClient, meeting: Meeting, check: BallastCheck, name: str) -> None:
    photo = send(api, check).json()
    api.force_login(getattr(meeting.people, name))
    assert bool(api.get(PHOTOS).json()["results"]) == (name in SEE)
    for where in (f"{PHOTOS}/{photo['id']}", photo["file"]):
        assert api.get(where).status_code == (200 if name in SEE else 404)


@pytest.mark.parametrize("name", [n for n in EVERYBODY if n != "official"])
def test_nobody_else_sends_one(
    api: APIClient, meeting: Meeting, check: BallastCheck, name: str
) -> None:
    api.force_login(getattr(meeting.people, name))
    assert send(api, check).status_code == (403 if name in SEE else 400)
    assert kept(meeting) == 0


@pytest.mark.parametrize("method", ["put", "patch", "delete"])
def test_there_is_no_way_to_change_one(api: APIClient, check: BallastCheck, method: str) -> None:
    photo = send(api, check).json()["id"]
    assert getattr(api, method)(f"{PHOTOS}/{photo}", {}, format="multipart").status_code == 405


def test_it_is_found_by_its_look_and_its_entry(
    api: APIClient, meeting: Meeting, check: BallastCheck
) -> None:
    send(api, check)
    for asked, found in (
        ({"ballast_check": check.pk}, 1),
        ({"entry": meeting.entry.pk}, 1),
        ({"entry": meeting.rival_entry.pk}, 0),
        ({"entry__event": meeting.event.pk}, 1),
    ):
        sent = {name: str(pk) for name, pk in asked.items()}
        assert len(api.get(PHOTOS, sent).json()["results"]) == found


@pytest.mark.parametrize("where", [PHOTOS, "/api/v1/ballast-checks"])
def test_three_cost_no_more_than_one_and_no_picture_is_loaded(
    api: APIClient, check: BallastCheck, where: str
) -> None:
    def asked() -> tuple[int, str]:
        with CaptureQueriesContext(connection) as queries:
            assert api.get(where).status_code == 200
        return len(queries), "".join(query["sql"] for query in queries)

    send(api, check)
    asked()
    one, sql = asked()
    assert '"picture"' not in sql
    for _ in range(2):
        send(api, check)
    assert asked()[0] == one
