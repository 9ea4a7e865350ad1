"""Photos on pages: sent with a form, refused with all that was typed, shown to whom they may be."""

from typing import Any
from uuid import uuid4

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from clubsetup.access.viewer import viewing_as
from events.actions.voiding import void_ballast_check
from events.models import BallastCheck, BallastPhoto
from events.rules.photo import MOST_SENT
from tests.events.desk.conftest import answers, expected
from tests.events.meeting import Meeting
from tests.events.photographs import TOLD, jpeg, seen, telling
from tests.events.test_ballast_checks import look
from tests.markup import one_line

AGAIN = "Add the photo again"


@pytest.fixture
def official(client: Client, meeting: Meeting) -> Client:
    client.force_login(meeting.people.official)
    return client


def file(content: bytes, name: str = "IMG_0001.jpg", kind: str = "image/jpeg") -> Any:
    return SimpleUploadedFile(name, content, kind)


def typed(**changed: Any) -> dict[str, Any]:
    return {
        "row_id": str(uuid4()),
        "label_legible": "yes",
        "label": "27",
        "marked_mass": "4 1/4 lb",
        "place": "under the seat",
        "fixed": "yes",
        **changed,
    }


def photos(meeting: Meeting) -> list[BallastPhoto]:
    with viewing_as(meeting.people.official.pk):
        return list(BallastPhoto.objects.order_by("number"))


def looks(meeting: Meeting) -> int:
    with viewing_as(meeting.people.official.pk):
        return BallastCheck.objects.count()


@pytest.fixture
def photo(meeting: Meeting) -> BallastPhoto:
    look(meeting, photo=telling())
    return photos(meeting)[0]


# With the look


def test_the_form_opens_the_camera_and_says_what_to_photograph(
    official: Client, meeting: Meeting
) -> None:
    text = official.get(f"/entries/{meeting.entry.pk}/ballast").content.decode()
    assert 'enctype="multipart/form-data"' in text
    assert 'accept="image/jpeg,image/png,image/webp" capture="environment"' in text
    assert "Photograph the piece, not the child." in text


def test_a_look_is_kept_with_its_photo(official: Client, meeting: Meeting) -> None:
    sent = typed(photo=file(telling()))
    for _ in range(2):  # a double tap
        page = official.post(f"/entries/{meeting.entry.pk}/ballast", sent)
        assert page.status_code == 302
        sent["photo"] = file(telling())
    assert looks(meeting) == len(photos(meeting)) == 1


def test_a_look_needs_no_photo(official: Client, meeting: Meeting) -> None:
    assert official.post(f"/entries/{meeting.entry.pk}/ballast", typed()).status_code == 302
    assert (looks(meeting), photos(meeting)) == (1, [])


REFUSED = {
    "no picture": (b"MZ not a picture", "This is no picture that can be read."),
    "heic": (b"\0\0\0\x18ftypheic\0\0\0\0", "Set the camera to JPEG"),
    "empty": (b"", "The file for “Photo” is empty. Choose another."),
    "too large": (jpeg() + b"\0" * MOST_SENT, "larger than 20 MB"),
    "far too large": (jpeg() + b"\0" * (settings.MOST_UPLOAD_BYTES * 2), "larger than 20 MB"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_refused_is_said_at_the_photo_and_what_was_typed_stays(
    official: Client, meeting: Meeting, name: str
) -> None:
    content, said = REFUSED[name]
    page = official.post(f"/entries/{meeting.entry.pk}/ballast", typed(photo=file(content)))
    text = page.content.decode()
    assert page.status_code == 200
    (error,) = page.context["form"].errors["photo"]
    assert said in error
    assert error in text
    for kept in ('value="4 1/4 lb"', 'value="under the seat"', 'value="27"'):
        assert kept in text
    assert text.count(" checked") == 2
    assert (looks(meeting), photos(meeting)) == (0, [])


@pytest.mark.parametrize("wrong", [{"marked_mass": "heavy"}, {"label": ""}, {"fixed": ""}])
def test_where_something_else_is_wrong_the_photo_is_asked_for_again(
    official: Client, meeting: Meeting, wrong: dict[str, str]
) -> None:
    sent = typed(photo=file(jpeg()), **wrong)
    page = official.post(f"/entries/{meeting.entry.pk}/ballast", sent)
    assert AGAIN in page.content.decode()
    page = official.post(f"/entries/{meeting.entry.pk}/ballast", typed(**wrong))
    assert AGAIN not in page.content.decode()
    assert looks(meeting) == 0


# Afterwards


def test_more_are_added_until_there_are_three(official: Client, meeting: Meeting) -> None:
    check = look(meeting)
    where, entry = f"/ballast-checks/{check.pk}/photo", f"/entries/{meeting.entry.pk}/"
    for number in (1, 2, 3):
        assert where in official.get(entry).content.decode()
        sent = {"row_id": str(uuid4()), "photo": file(jpeg())}
        page = official.post(where, sent)
        assert page.headers["Location"] == f"{entry}#ballast"
        assert len(photos(meeting)) == number
    assert where not in official.get(entry).content.decode()
    page = official.post(where, {"row_id": str(uuid4()), "photo": file(jpeg())})
    assert "3 photos already" in page.content.decode()


def test_a_double_tap_adds_one(official: Client, meeting: Meeting) -> None:
    check, row_id = look(meeting), str(uuid4())
    for _ in range(2):
        sent = {"row_id": row_id, "photo": file(jpeg())}
        page = official.post(f"/ballast-checks/{check.pk}/photo", sent)
        assert page.status_code == 302
    (photo,) = photos(meeting)
    assert str(photo.pk) == row_id


def test_without_a_file_it_says_what_is_missing(official: Client, meeting: Meeting) -> None:
    check = look(meeting)
    page = official.post(f"/ballast-checks/{check.pk}/photo", {"row_id": str(uuid4())})
    assert "Take a photo or choose one." in page.content.decode()


def test_no_photo_is_offered_at_a_look_that_is_void_or_was_replaced(
    official: Client, meeting: Meeting
) -> None:
    check, by = look(meeting), meeting.people.official
    newer = look(meeting)
    text = official.get(f"/entries/{meeting.entry.pk}/").content.decode()
    assert f"{check.pk}/photo" not in text
    assert f"{newer.pk}/photo" in text
    with viewing_as(by.pk):
        void_ballast_check(by=by, ballast_check=newer, reason="Wrong car")
    text = official.get(f"/entries/{meeting.entry.pk}/").content.decode()
    assert f"{newer.pk}/photo" not in text


# Seeing it


def test_who_sees_it(meeting: Meeting, photo: BallastPhoto) -> None:
    sees = expected(members=200, unlinked_coach=404, rival=404)
    for path in ("", "photo.jpg", "small.jpg"):
        assert answers(meeting, f"/ballast-photos/{photo.pk}/{path}") == sees, path
    adds = expected(members=403, official=200, unlinked_coach=404, rival=404)
    assert answers(meeting, f"/ballast-checks/{photo.ballast_check_id}/photo") == adds


@pytest.mark.parametrize("name", ["photo", "small"])
def test_it_is_a_picture_and_nothing_else(official: Client, photo: BallastPhoto, name: str) -> None:
    answer = official.get(f"/ballast-photos/{photo.pk}/{name}.jpg")
    assert answer.content == bytes(photo.picture if name == "photo" else photo.small)
    assert max(seen(answer.content).size) == (400 if name == "photo" else 320)
    assert not any(told in answer.content for told in TOLD)
    said = {key: answer.headers[key] for key in ("Content-Type", "Cache-Control")}
    assert said == {"Content-Type": "image/jpeg", "Cache-Control": "private, no-store"}
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Content-Security-Policy"].startswith("default-src 'none'")
    assert answer.headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert answer.headers["Content-Disposition"] == f'inline; filename="{photo.pk}.jpg"'


def test_the_page_of_the_car_shows_it_small_with_its_place_kept(
    official: Client, meeting: Meeting, photo: BallastPhoto
) -> None:
    text = official.get(f"/entries/{meeting.entry.pk}/").content.decode()
    small = f'<img src="/ballast-photos/{photo.pk}/small.jpg" width="96" height="72" loading="lazy"'
    assert small in one_line(text)
    assert f'<a href="/ballast-photos/{photo.pk}/">' in text


def test_the_family_sees_it_and_adds_none(client: Client, meeting: Meeting) -> None:
    look(meeting, photo=jpeg())
    client.force_login(meeting.people.chief)
    text = client.get(f"/entries/{meeting.entry.pk}/").content.decode()
    assert "small.jpg" in text
    assert "Add a photo" not in text


def test_its_own_page_says_whose_it_is_and_that_it_is_void(
    official: Client, meeting: Meeting, photo: BallastPhoto
) -> None:
    where = f"/ballast-photos/{photo.pk}/"
    text = official.get(where).content.decode()
    assert photo.sha256 in text
    assert str(meeting.people.official) in text
    with viewing_as(meeting.people.official.pk):
        void_ballast_check(
            by=meeting.people.official, ballast_check=photo.ballast_check, reason="Wrong car"
        )
    assert "Wrong car" in official.get(where).content.decode()


def test_three_photos_cost_the_page_no_more_than_one(
    official: Client, meeting: Meeting, photo: BallastPhoto
) -> None:
    def asked() -> tuple[int, str]:
        with CaptureQueriesContext(connection) as queries:
            official.get(f"/entries/{meeting.entry.pk}/")
        return len(queries), "".join(query["sql"] for query in queries)

    asked()
    one, sql = asked()
    assert '"picture"' not in sql
    for _ in range(2):
        sent = {"row_id": str(uuid4()), "photo": file(jpeg())}
        official.post(f"/ballast-checks/{photo.ballast_check_id}/photo", sent)
    assert asked()[0] == one
