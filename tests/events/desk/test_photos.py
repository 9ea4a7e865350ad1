"""Photos of ballast: what stands with a look, who adds one, and that nobody alters it."""

from typing import Any

import pytest
from django.core.exceptions import ObjectDoesNotExist
from django.db import DatabaseError, connection, transaction

from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from events.actions.ballast import check_no_ballast
from events.actions.entries import withdraw_entry
from events.actions.events import end_event
from events.actions.voiding import void_ballast_check
from events.models import BallastCheck, BallastPhoto, Finding
from events.queries.record import entry_record
from events.records.actions.photos import photograph_ballast
from events.rules.photo import MOST_KEPT, Photo, cleaned
from teams.presenters.trail import club_trail
from tests.events.desk.conftest import EVERYBODY
from tests.events.meeting import Meeting
from tests.events.photographs import TOLD, jpeg, telling
from tests.events.test_ballast_checks import look

SEE = ("official", "steward", "chief", "crew", "guest", "coach")


def add(check: BallastCheck, by: User, **changed: Any) -> BallastPhoto:
    with viewing_as(by.pk):
        return photograph_ballast(by=by, **{"ballast_check": check, "photo": jpeg(), **changed})


@pytest.fixture
def official(meeting: Meeting) -> User:
    return meeting.people.official


# What is kept


def test_a_look_may_come_with_its_first_photo(meeting: Meeting, official: User) -> None:
    check = look(meeting, photo=telling())
    with viewing_as(official.pk):
        photo = check.photos.get()
    assert bytes(photo.picture) == cleaned(telling()).picture
    assert (photo.number, photo.width, photo.height) == (1, 400, 300)
    assert (photo.entry_id, photo.by_id) == (check.entry_id, official.pk)


def test_nothing_of_where_and_when_reaches_the_database(meeting: Meeting, official: User) -> None:
    photo = add(look(meeting), official, photo=telling())
    with viewing_as(official.pk):
        photo.refresh_from_db()
    for content in (bytes(photo.picture), bytes(photo.small)):
        assert content.startswith(b"\xff\xd8")
        assert not any(told in content for told in TOLD)


def test_a_look_has_three_and_no_more(meeting: Meeting, official: User) -> None:
    check = look(meeting)
    numbers = [add(check, official).number for _ in range(3)]
    assert numbers == [1, 2, 3]
    with pytest.raises(WrongState, match="3 photos already"):
        add(check, official)


def test_a_photo_finds_nothing_again(meeting: Meeting, official: User) -> None:
    check = look(meeting)
    with viewing_as(official.pk):
        before = Finding.objects.count()
    add(check, official)
    with viewing_as(official.pk):
        assert Finding.objects.count() == before


def test_the_look_and_its_photo_are_kept_together_or_not_at_all(
    meeting: Meeting, official: User
) -> None:
    with pytest.raises(Invalid) as refusal:
        look(meeting, photo=b"no picture")
    assert refusal.value.field == "photo"
    with viewing_as(official.pk):
        assert not BallastCheck.objects.exists()


def test_without_its_line_in_the_trail_no_photo_is_kept(
    meeting: Meeting, official: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    check = look(meeting)

    def fails(*_: object, **__: object) -> None:
        raise RuntimeError("no trail")

    monkeypatch.setattr(TrailLine, "save", fails)
    with pytest.raises(RuntimeError):
        add(check, official)
    with viewing_as(official.pk):
        assert not BallastPhoto.objects.exists()


def test_the_trail_says_so(meeting: Meeting, official: User) -> None:
    add(look(meeting), official)
    with viewing_as(meeting.people.steward.pk):
        told = [line.what for line in club_trail(meeting.people.club).lines]
    assert "photographed a piece of ballast" in told


# When not


def test_a_void_look_takes_none_and_takes_its_own_with_it(meeting: Meeting, official: User) -> None:
    check = look(meeting, photo=jpeg())
    with viewing_as(official.pk):
        void_ballast_check(by=official, ballast_check=check, reason="Another car's")
    with pytest.raises(WrongState, match="is void"):
        add(check, official)
    with viewing_as(official.pk):
        (shown,) = entry_record(meeting.entry).ballast_checks
        assert shown.void
        assert len(shown.photos.all()) == 1


def test_a_look_that_was_replaced_takes_none(meeting: Meeting, official: User) -> None:
    check = look(meeting)
    look(meeting)
    with pytest.raises(WrongState, match="took the place"):
        add(check, official)


def test_where_there_is_no_ballast_there_is_no_photo(meeting: Meeting, official: User) -> None:
    with viewing_as(official.pk):
        check = check_no_ballast(by=official, entry=meeting.rival_entry)
    with pytest.raises(WrongState, match="no ballast"):
        add(check, official)


def test_after_the_event_none_is_added(meeting: Meeting, official: User) -> None:
    check = look(meeting)
    with viewing_as(meeting.people.steward.pk):
        check.entry.event = end_event(by=meeting.people.steward, event=meeting.event)
    with pytest.raises(WrongState, match="while the event is under way"):
        add(check, official)


def test_a_withdrawn_entry_takes_none(meeting: Meeting, official: User) -> None:
    check = look(meeting)
    with viewing_as(meeting.people.chief.pk):
        check.entry = withdraw_entry(by=meeting.people.chief, entry=meeting.entry)
    with pytest.raises(WrongState, match="withdrawn"):
        add(check, official)


# Who


@pytest.mark.parametrize("name", [n for n in EVERYBODY if n != "official"])
def test_nobody_but_an_official_of_the_club_adds_one(meeting: Meeting, name: str) -> None:
    with pytest.raises((NotAllowed, ObjectDoesNotExist)):
        add(look(meeting), getattr(meeting.people, name))


@pytest.mark.parametrize("name", EVERYBODY)
def test_the_teams_people_and_the_clubs_officials_see_it(meeting: Meeting, name: str) -> None:
    look(meeting, photo=jpeg())
    with viewing_as(getattr(meeting.people, name).pk):
        assert BallastPhoto.objects.exists() == (name in SEE)


# Nobody alters it


def row(check: BallastCheck, **changed: Any) -> dict[str, Any]:
    made: Photo = cleaned(jpeg())
    return {
        "id": new_id(),
        "entry_id": check.entry_id,
        "club_id": check.club_id,
        "team_id": check.team_id,
        "ballast_check": check,
        "number": 1,
        "picture": made.picture,
        "small": made.small,
        "width": made.width,
        "height": made.height,
        "sha256": made.sha256,
        **changed,
    }


def insert(check: BallastCheck, who: User, **changed: Any) -> None:
    """Past the action, and as it must hold together before a commit."""
    with viewing_as(who.pk), transaction.atomic():
        BallastPhoto.objects.create(**row(check, **{"by": who, **changed}))
        with connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")


@pytest.mark.parametrize(
    ("changed", "constraint"),
    [
        ({"sha256": "0" * 64}, "ballast_photo_hash_true"),
        ({"picture": b"another"}, "ballast_photo_hash_true"),
        ({"number": 0}, "ballast_photo_few"),
        ({"number": 4}, "ballast_photo_few"),
        ({"small": b"\xff" * 40_001}, "ballast_photo_small_enough"),
        ({"width": 1601}, "ballast_photo_sides"),
        ({"height": 0}, "ballast_photo_sides"),
    ],
)
def test_the_database_holds_what_a_photo_is(
    meeting: Meeting, official: User, changed: dict[str, Any], constraint: str
) -> None:
    with pytest.raises(DatabaseError, match=constraint):
        insert(look(meeting), official, **changed)


def test_the_database_takes_no_large_picture(meeting: Meeting, official: User) -> None:
    large = Photo(b"\xff" * (MOST_KEPT + 1), b"\xff", 1, 1)
    with pytest.raises(DatabaseError, match="ballast_photo_small_enough"):
        insert(look(meeting), official, picture=large.picture, sha256=large.sha256)


def test_the_database_takes_a_number_once(meeting: Meeting, official: User) -> None:
    check = look(meeting, photo=jpeg())
    with pytest.raises(DatabaseError, match="ballast_photo_number_once"):
        insert(check, official)


def test_a_photo_speaks_of_its_looks_own_entry_team_and_club(
    meeting: Meeting, official: User
) -> None:
    check, people = look(meeting), meeting.people
    rival = {"entry_id": meeting.rival_entry.pk, "team_id": people.rival_team.pk}
    with pytest.raises(DatabaseError, match="ballast_photo_check"):
        insert(check, official, **rival)
    with pytest.raises(DatabaseError, match="ballast_photo_team"):
        insert(check, official, team_id=people.rival_team.pk)


@pytest.mark.parametrize("name", [n for n in EVERYBODY if n != "official"])
def test_past_the_action_too_only_an_official_adds_one(meeting: Meeting, name: str) -> None:
    with pytest.raises(DatabaseError, match="row-level security"):
        insert(look(meeting), getattr(meeting.people, name))


def test_and_in_their_own_name_alone(meeting: Meeting, official: User) -> None:
    with pytest.raises(DatabaseError, match="row-level security"):
        insert(look(meeting), official, by=meeting.people.steward)


@pytest.mark.parametrize("name", ["official", "steward", "chief"])
def test_nobody_changes_or_removes_one(meeting: Meeting, name: str) -> None:
    look(meeting, photo=jpeg())
    photos = BallastPhoto.objects.all()
    with viewing_as(getattr(meeting.people, name).pk):
        for column in ({"picture": b"another"}, {"number": 2}, {"ballast_check": None}):
            with pytest.raises(DatabaseError, match="permission denied"), transaction.atomic():
                photos.update(**column)
        with pytest.raises(DatabaseError, match="permission denied"), transaction.atomic():
            photos._raw_delete(photos.db)
        assert photos.count() == 1
