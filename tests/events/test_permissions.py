"""Who may do what around an event, role by role, and what everybody else is told."""

from collections.abc import Callable

import pytest
from django.db.models import Model

from clubsetup.access.errors import NotAllowed
from events import permissions
from events.models import Entry, Event, RuleSet, ScaleSet
from teams.models import RaceClass
from tests.roles import (
    AWAY_TEAM,
    CLUB,
    COACHES,
    CREW,
    EVERYBODY,
    OTHER_CLUB,
    RESTS,
    RIVALS,
    TEAM,
    who_may,
)

STEWARDS = "Only a steward of Fernbank may do this."
DESK = "Only an official or steward of Fernbank may do this."
EVENT = Event(club=CLUB, name="June Meeting")
AWAY = Event(club=OTHER_CLUB, name="Heath Cup")
ENTRY = Entry(event=EVENT, club=CLUB, team=TEAM)


@pytest.mark.parametrize(
    ("check", "kept"),
    [
        (permissions.check_can_keep_rules, RaceClass(club=CLUB)),
        (permissions.check_can_keep_rules, RuleSet(club=CLUB)),
        (permissions.check_can_keep_scales, CLUB),
        (permissions.check_can_keep_scales, ScaleSet(club=CLUB)),
        (permissions.check_can_run_event, EVENT),
    ],
)
def test_a_steward_keeps_rules_and_scales_and_runs_the_event(
    check: Callable[..., None], kept: Model
) -> None:
    assert who_may(check, kept, refusal=STEWARDS, resting=RESTS) == {"steward"}


def test_the_crew_enter_their_car_at_home() -> None:
    told = "Only the crew of Wrens may do this."
    assert who_may(permissions.check_can_enter, EVENT, TEAM, refusal=told) == CREW


def test_away_the_crew_enter_who_belong_to_the_club_that_holds_the_event() -> None:
    check = permissions.check_can_enter
    check(EVERYBODY["member of both clubs"], AWAY, TEAM)
    for name in ("chief", "crew"):
        with pytest.raises(NotAllowed) as refused:
            check(EVERYBODY[name], AWAY, TEAM)
        assert str(refused.value) == "Only members of Marl Heath enter its events."


def test_any_car_is_entered_by_hand_at_the_desk() -> None:
    found = who_may(permissions.check_can_enter_walk_in, EVENT, refusal=DESK)
    assert found == {"official", "steward"}


def test_the_crew_stand_by_an_entry_made_by_hand() -> None:
    told = "Only the team's crew confirm its entry."
    assert who_may(permissions.check_can_confirm, ENTRY, refusal=told) == CREW


def test_an_entry_is_changed_by_its_crew_and_at_the_desk() -> None:
    found = who_may(permissions.check_can_change_entry, ENTRY, refusal=DESK)
    assert found == CREW | {"official", "steward"}


def test_an_official_of_the_club_inspects() -> None:
    told = "Only an official of Fernbank may do this."
    check = permissions.check_can_inspect
    assert who_may(check, ENTRY, refusal=told, resting=RESTS) == {"official"}


def test_results_are_for_the_team_its_coaches_and_the_desk() -> None:
    check = permissions.check_can_see_results
    told = "Only {}, its coaches and the club's officials see its results."
    desk = {"official", "steward"}
    found = who_may(check, TEAM, refusal=told.format("Wrens"))
    assert found == CREW | {"guest"} | COACHES | desk
    assert who_may(check, RIVALS, refusal=told.format("Kestrels")) == {"rival"} | desk
    away = who_may(check, AWAY_TEAM, refusal=told.format("Herons"))
    assert away == {"other official", "other steward"}


def test_the_desk_is_seen_by_whom_it_is_for() -> None:
    seen = {name for name, user in EVERYBODY.items() if permissions.may_see_desk(user, EVENT)}
    assert seen == {"official", "steward"}
