"""Looks at ballast, and what the rules on it say."""

from collections.abc import Callable
from typing import Any

import pytest

from cars.models import BallastPiece
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from events.actions.ballast import check_ballast, check_no_ballast, record_not_on_car
from events.actions.events import end_event
from events.actions.voiding import void_ballast_check
from events.models import BallastCheck
from events.queries.ballast import pieces_on
from tests.events.meeting import Meeting, make_meeting, mass
from tests.made_once import MadeOnce

BALLAST: list[tuple[str, dict[str, Any]]] = [
    ("ballast_marked", {"agree_within": "0.1"}),
    ("ballast_fixed", {}),
    ("ballast_largest_piece", {"at_most": "4.5359237"}),
]


@pytest.fixture(scope="module")
def meeting_once(once: Callable[..., MadeOnce[Meeting]]) -> MadeOnce[Meeting]:
    return once(lambda people: make_meeting(people, BALLAST))


def look(meeting: Meeting, by: User | None = None, **changed: Any) -> BallastCheck:
    """The official looks at the Wrens' piece, which is in order unless said otherwise."""
    by = by or meeting.people.official
    given: dict[str, Any] = {
        "entry": meeting.entry,
        "piece": meeting.piece,
        "label_legible": True,
        "label": "27",
        "marked_mass": mass("4 lb"),
        "weighed_mass": mass("4.1 lb"),
        "place": "left rail",
        "fixed": True,
        **changed,
    }
    with viewing_as(by.pk):
        return check_ballast(by=by, **given)


def test_a_piece_in_order_meets_every_rule(meeting: Meeting) -> None:
    look(meeting)
    assert set(meeting.outcomes().values()) == {"meets"}


@pytest.mark.parametrize(
    ("changed", "kind"),
    [
        ({"label_legible": False, "label": ""}, "ballast_marked"),
        ({"label": "99"}, "ballast_marked"),
        ({"marked_mass": None}, "ballast_marked"),
        ({"weighed_mass": mass("4.5 lb")}, "ballast_marked"),
        ({"fixed": False}, "ballast_fixed"),
        ({"weighed_mass": mass("12 lb")}, "ballast_largest_piece"),
    ],
)
def test_what_is_wrong_with_it_fails_its_rule(
    meeting: Meeting, changed: dict[str, Any], kind: str
) -> None:
    look(meeting, **changed)
    assert meeting.outcomes()[kind] == "fails"


@pytest.mark.parametrize("label", ["27", "#27", "Robin", "robin 27"])
def test_the_cars_number_or_the_drivers_name_will_do(meeting: Meeting, label: str) -> None:
    look(meeting, label=label)
    assert meeting.outcomes()["ballast_marked"] == "meets"


def test_nobody_has_looked_is_not_checked_and_none_is_in_order(meeting: Meeting) -> None:
    meeting.weigh("321", entry=meeting.rival_entry)
    assert set(meeting.outcomes(meeting.rival_entry).values()) == {"not_checked"}
    with viewing_as(meeting.people.official.pk):
        check_no_ballast(by=meeting.people.official, entry=meeting.rival_entry)
    assert set(meeting.outcomes(meeting.rival_entry).values()) == {"meets"}


def test_a_second_look_at_a_piece_takes_the_place_of_the_first(meeting: Meeting) -> None:
    look(meeting, fixed=False)
    look(meeting)
    assert meeting.outcomes()["ballast_fixed"] == "meets"


def test_two_pieces_that_the_team_does_not_keep_here_both_count(meeting: Meeting) -> None:
    look(meeting, piece=None, fixed=False)
    look(meeting, piece=None)
    assert meeting.outcomes()["ballast_fixed"] == "fails"


def not_on_car(meeting: Meeting, **what: Any) -> BallastCheck:
    """The official records that a piece is not on the car."""
    by = meeting.people.official
    with viewing_as(by.pk):
        return record_not_on_car(by=by, entry=meeting.entry, **{"reason": "Taken off", **what})


def no_ballast(meeting: Meeting) -> BallastCheck:
    """The official looked and there is none."""
    by = meeting.people.official
    with viewing_as(by.pk):
        return check_no_ballast(by=by, entry=meeting.entry)


def test_none_on_the_car_is_refused_while_a_piece_is_listed(meeting: Meeting) -> None:
    with pytest.raises(Invalid, match=r"27 4 lb \(on the team's list\)") as refusal:
        no_ballast(meeting)
    assert refusal.value.field == "none_on_car"
    assert meeting.outcomes() == {}
    not_on_car(meeting, piece=meeting.piece)
    assert set(meeting.outcomes().values()) == {"not_checked"}
    no_ballast(meeting)
    assert set(meeting.outcomes().values()) == {"meets"}


@pytest.mark.parametrize("changed", [{}, {"fixed": False}, {"label_legible": False, "label": ""}])
def test_none_on_the_car_is_refused_while_a_piece_stands_looked_at(
    meeting: Meeting, changed: dict[str, Any]
) -> None:
    not_on_car(meeting, piece=meeting.piece)
    seen = look(meeting, piece=None, **changed)
    before = meeting.outcomes()
    with pytest.raises(Invalid, match=r"\(looked at\)"):
        no_ballast(meeting)
    assert meeting.outcomes() == before
    not_on_car(meeting, look=seen)
    no_ballast(meeting)
    assert set(meeting.outcomes().values()) == {"meets"}
    look(meeting, fixed=False)
    assert meeting.outcomes()["ballast_fixed"] == "fails"


def test_the_family_s_list_stays_as_it_is(meeting: Meeting) -> None:
    not_on_car(meeting, piece=meeting.piece)
    with viewing_as(meeting.people.chief.pk):
        assert list(pieces_on(meeting.entry)) == [meeting.piece]


def test_a_piece_that_is_off_is_recorded_once_with_a_reason(meeting: Meeting) -> None:
    with pytest.raises(Invalid) as refusal:
        not_on_car(meeting, piece=meeting.piece, reason=" ")
    assert refusal.value.field == "reason"
    record = not_on_car(meeting, piece=meeting.piece, reason=" Left in the pit ")
    assert (record.label, record.reason) == ("27", "Left in the pit")
    with pytest.raises(WrongState, match="already"):
        not_on_car(meeting, piece=meeting.piece)


def test_only_what_is_on_record_is_said_to_be_off(meeting: Meeting) -> None:
    seen, none = look(meeting), {"entry": meeting.rival_entry}
    for what in ({}, {"piece": meeting.piece, "look": seen}, {**none, "look": seen}):
        with pytest.raises(Invalid):
            not_on_car_of(meeting, what)
    with pytest.raises(Invalid):
        not_on_car_of(meeting, {**none, "piece": meeting.piece})
    newer = look(meeting)
    assert not_on_car(meeting, look=seen).look_id == newer.pk


def not_on_car_of(meeting: Meeting, what: dict[str, Any]) -> BallastCheck:
    by = meeting.people.official
    with viewing_as(by.pk):
        return record_not_on_car(by=by, **{"entry": meeting.entry, "reason": "Off", **what})


@pytest.mark.parametrize("name", ["chief", "guest", "coach", "steward", "rival"])
def test_nobody_but_an_official_says_so(meeting: Meeting, name: str) -> None:
    who = getattr(meeting.people, name)
    with viewing_as(who.pk), pytest.raises(NotAllowed):
        record_not_on_car(by=who, entry=meeting.entry, piece=meeting.piece, reason="Off")


def test_a_void_look_counts_no_longer(meeting: Meeting) -> None:
    official = meeting.people.official
    wrong = look(meeting, fixed=False)
    with viewing_as(official.pk):
        void_ballast_check(by=official, ballast_check=wrong, reason="It was car 31's")
    assert meeting.outcomes()["ballast_fixed"] == "not_checked"


def test_what_was_typed_is_kept_with_its_resolution(meeting: Meeting) -> None:
    check = look(meeting)
    assert (check.marked_typed, check.weighed_typed) == ("4 lb", "4.1 lb")
    finding = meeting.standing()["ballast_largest_piece"]
    assert finding.evidence["ballast_checks"] == [str(check.pk)]


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"label": " "}, "label"),
        ({"marked_mass": mass("0")}, "marked_mass"),
        ({"weighed_mass": mass("-1")}, "weighed_mass"),
    ],
)
def test_what_is_no_look_is_refused(meeting: Meeting, changed: dict[str, Any], field: str) -> None:
    with pytest.raises(Invalid) as refusal:
        look(meeting, **changed)
    assert refusal.value.field == field


def test_a_piece_of_another_car_is_refused(meeting: Meeting) -> None:
    with pytest.raises(Invalid) as refusal:
        look(meeting, entry=meeting.rival_entry)
    assert refusal.value.field == "piece"


def test_the_official_sees_the_pieces_of_an_entered_car_while_the_event_lasts(
    meeting: Meeting,
) -> None:
    people = meeting.people
    with viewing_as(people.official.pk):
        assert list(pieces_on(meeting.entry)) == [meeting.piece]
    for name in ("steward", "other_official", "rival", "unlinked_coach", "stranger"):
        with viewing_as(getattr(people, name).pk):
            assert not BallastPiece.objects.exists(), name
    with viewing_as(people.steward.pk):
        end_event(by=people.steward, event=meeting.event)
    with viewing_as(people.official.pk):
        assert not BallastPiece.objects.exists()


@pytest.mark.parametrize("name", ["chief", "guest", "coach", "steward", "rival"])
def test_nobody_but_an_official_looks(meeting: Meeting, name: str) -> None:
    with pytest.raises(NotAllowed):
        look(meeting, by=getattr(meeting.people, name))
