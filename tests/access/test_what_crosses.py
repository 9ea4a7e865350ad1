"""What crosses a wall does so through a function; each answers one narrow question."""

from typing import Any

import pytest
from django.db import connection
from django.utils import timezone

from cars.models import BallastPiece
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from events.models import Entry, Event
from events.rules import rule_from
from tests.clocks import database_at
from tests.events.meeting import ON_THE_DAY
from tests.guards.world import AGE_RULE, World, undone, walk_in_entry

# Every function the restricted role may call that runs as the owner, and what keeps it narrow.
FUNCTIONS = {
    "former_cars": "ids of cars that a team of the viewer's had",
    "offered_handover": "by the hash of a whole code, to a chief: what its giver chose to show",
    "take_car": "'' or why not, by the hash of a whole code, to a chief of the team that takes",
    "take_car_back": "'' or why not, to a chief of the team that gave the car",
    "own_car_is_entered": "yes or no, of a car of a team the viewer is chief of",
    "has_written_since": "not granted to the service: only for take_car_back",
    "had_only_since": "a day of the reader's own team, and that some other team had the car before",
    "start_list": "number and display name, for members of the club",
    "published_findings": "outcomes by number once published, for members; nothing of a child",
    "answer_age": "yes or no, once an entry that its team stands by, to the club's officials",
    "confirm_entry": "the team's own crew, once an entry; says whether it did",
    "cars_by_number": "officials and stewards, their club's teams, while the event takes entries",
    "may_enter_walk_in": "the viewer's own clubs only",
    "what_teams_run": "stewards, of five teams and more together; tests/cars holds its rules",
    "entered_cars": "ids of cars entered where the viewer is an official, while it lasts",
    "walk_in_teams": "the viewer's own clubs only",
    "has_chief": "yes or no for a team's id; a steward must know whom to ask",
    "club_invitations": "the one invitation whose link was followed",
    "team_invitations": "the one invitation whose link was followed",
    "hold_chain": "the next place of an event's chain, to officials of its club",
    "append_lines": "nothing; officials of the club enter what the records' own rows say",
    "token_owner": "by the hash of a whole token",
    "is_handed_over": "yes or no, by the digest of a whole session key",
    "end_sign_ins": "nothing; ends the viewer's own sessions",
    "tidy_sign_ins": "nothing; takes off the viewer's list what is over",
    "end_for_member": "how many ended, to a steward, of who is or was in the club",
    "may_make_reset_code": "how far a code of the viewer's for a person would reach; '' for most",
    "make_reset_code": "the same, and keeps the hash; tests/attacks holds who may",
    "use_reset_code": "whose it is, by the hash of a whole code and their address, once",
    "reset_reach": "not granted to the service: only for the three above",
    "places_of": "not granted to the service: only for those above",
    "print_job_asked_by": "by the id of a job, before the worker knows for whom it works",
    "withdrawn_imports": "ids alone, of the teams that the viewer reads",
    "import_confirmed_by": "by the id of an import, before the worker knows for whom it works",
    "hide_rows_of": "not granted to the service: only for the trigger of a withdrawal",
    "drop_old_imports": "how many drafts of files the sweeper dropped, each older than some days",
    "take_unheld_imports": "ids of imports for the sweeper",
    "take_unheld_print_jobs": "ids of jobs for the sweeper",
    "viewer": "whom the service has signed as looking; tells nothing of the key",
    "proven": "what the service has signed; the role may not call it",
    "signing_in": "ids of the account that the sign-in code has signed for",
    "signing_address": "the address that the sign-in code has signed for",
    "confirmed_addresses": "the viewer's own, or of the account that the sign-in code signed for",
    "account_addresses": "the viewer's own, or of the account that the sign-in code signed for",
    "account": "the one person that the service has signed for, for this connection",
    "note_sign_in": "nothing; writes when that one person signed in",
    "session": "by the whole key of a session",
    "has_session": "by the whole key of a session",
    "add_session": "nothing; what is kept opens nothing unless the service signed it",
    "keep_session": "nothing; by the whole key of a session",
    "end_session": "nothing; by the whole key of a session",
    "forget_expired_sessions": "nothing; those whose time is over by the server's own clock",
    "stored_print_of": "sizes of a print, to whoever has all that it was made from",
    "finish_print_job": "whether it did; of the viewer's own job under its lease",
    "may_write_line": "yes or no for a line from outside a team, about a row the viewer tends",
    "take_old_prints": "names of files for the sweeper, of prints older than a day at least",
    "prints_of_nobody": "of the names of files given, those of no print",
    "erase_driver": "a chief, a driver of the team; names of the files of prints to remove",
    "held_of_driver": "counts, to a chief of the driver's team",
    "erase_words": "a steward, a line of the club's; names of the files of prints to remove",
    "erase_account": "the viewer's own alone; names of the files of prints to remove",
    "count_one": "how often something was done by now, by its whole name; counts one more",
    "forget_old_counts": "how many were over by the server's own clock; removes those",
    "note_read": "one line 'read' in the trail of a team that the viewer may look in on",
    "looks_in_on": "not for the role: part of note_read",
    "row_is_of": "not for the role: part of note_read",
}
# Who the viewer is to teams and clubs: no argument, so they tell people only about themselves.
ABOUT_ONESELF = {
    *(f"{n}_teams" for n in ("chief", "crew", "member", "reader", "comment", "sheet", "code")),
    "coach_teams",
    *(f"{n}_clubs" for n in ("steward", "official", "coach", "member", "founded", "invited")),
    *("withheld_clubs", "coached_tables"),
    "invited_teams",
}
OF_THE_CLUB = {
    *("chief", "crew", "guest", "coach", "writer", "coder", "unlinked", "official", "steward"),
    "rival",
}


def call(who: User | None, name: str, *given: Any) -> list[tuple[Any, ...]]:
    """What the function answers that person."""
    places = ", ".join(["%s"] * len(given))
    with viewing_as(who.pk if who else None), connection.cursor() as cursor:
        cursor.execute(f"SELECT * FROM access.{name}({places})", list(given))
        rows: list[tuple[Any, ...]] = cursor.fetchall()
    return rows


def answers(w: World, name: str, *given: Any) -> dict[str, list[tuple[Any, ...]]]:
    return {who: call(person, name, *given) for who, person in w.who().items()}


def told(found: dict[str, list[tuple[Any, ...]]]) -> set[str]:
    """Who is told anything."""
    return {who for who, rows in found.items() if [r for r in rows if r != (None,)]}


def test_every_function_that_runs_as_the_owner_is_listed(world: World) -> None:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT proname FROM pg_proc WHERE pronamespace = 'access'::regnamespace "
            "AND prosecdef AND prorettype <> 'trigger'::regtype"
        )
        found = {row[0] for row in cursor.fetchall()}
    assert found == set(FUNCTIONS) | ABOUT_ONESELF


def test_the_start_list_is_the_clubs(world: World) -> None:
    found = answers(world, "start_list", world.meeting.event.pk)
    assert told(found) == OF_THE_CLUB
    assert found["rival"] == [("Junior", "27", "Robin"), ("Junior", "31", "Sky")]


def test_published_findings_are_the_clubs_and_say_nothing_of_a_child(world: World) -> None:
    found = answers(world, "published_findings", world.meeting.event.pk)
    assert told(found) == OF_THE_CLUB
    assert {row[1] for row in found["rival"]} == {"27"}
    with viewing_as(world.people.official.pk):
        about_a_child = rule_from(*AGE_RULE).words()
        assert not world.meeting.entry.findings.filter(rule__kind=AGE_RULE[0]).exists()
    assert about_a_child not in {row[3] for row in found["rival"]}


def test_what_is_not_published_is_told_to_nobody(world: World) -> None:
    with undone():
        with viewing_as(world.people.steward.pk):
            Event.objects.filter(pk=world.meeting.event.pk).update(findings_published=False)
        assert not told(answers(world, "published_findings", world.meeting.event.pk))


def test_eligible_or_not_for_the_clubs_officials(world: World) -> None:
    with undone(), database_at(ON_THE_DAY):
        found = answers(world, "answer_age", world.meeting.entry.pk)
    assert told(found) == {"official"}
    assert found["official"] == [(True,)]


def test_an_entry_is_confirmed_by_its_crew(world: World) -> None:
    for who, person in world.who().items():
        with undone():
            entry = walk_in_entry(world)
            done = call(person, "confirm_entry", entry.pk, world.driver.pk)
            assert done == [(who in ("chief", "crew"),)], who


def test_a_car_by_its_number_is_for_those_who_enter_walk_in(world: World) -> None:
    found = answers(world, "cars_by_number", world.meeting.event.pk, "7")
    assert told(found) == {"official", "steward"}
    assert found["official"] == [(world.car.pk, world.people.team.pk, "Wrens", "7")]
    assert not told(answers(world, "cars_by_number", new_id(), "7"))


def test_nothing_by_number_once_the_event_is_over(world: World) -> None:
    event = world.meeting.event.pk
    with undone():
        with viewing_as(world.people.steward.pk):
            Event.objects.filter(pk=event).update(state="over")
        assert not told(answers(world, "cars_by_number", event, "7"))


def test_a_piece_of_ballast_is_shown_while_its_car_is_entered(world: World) -> None:
    official, pieces = world.people.official.pk, BallastPiece.objects.filter(car=world.meeting.car)
    with viewing_as(official):
        assert pieces.count() == 1
    for change in (
        lambda: Entry.objects.filter(pk=world.meeting.entry.pk).update(withdrawn_at=timezone.now()),
        lambda: Event.objects.filter(pk=world.meeting.event.pk).update(state="over"),
    ):
        with undone():
            with viewing_as(world.people.steward.pk):
                assert change() == 1
            with viewing_as(official):
                assert not pieces.exists()


@pytest.mark.parametrize("name", sorted(ABOUT_ONESELF - {"invited_teams", "invited_clubs"}))
def test_nobody_and_a_stranger_are_nothing_to_anybody(name: str, world: World) -> None:
    assert call(None, name) == call(world.people.stranger, name) == [([],)]


def test_a_link_not_followed_opens_nothing(world: World) -> None:
    for name in ("club_invitations", "team_invitations"):
        assert not told(answers(world, name))
    for name in ("invited_teams", "invited_clubs"):
        assert {tuple(rows[0][0]) for rows in answers(world, name).values()} == {()}
