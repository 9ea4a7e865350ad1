"""Attempts to reach across: into another team, another club, another person's name.

Each is made at the table itself, as the restricted role, around every check that an action makes.
"""

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, models
from django.utils import timezone

from cars.models import BallastPiece, Car, Comment, Laps, Ownership, PartCode, Reading, Run, Sheet
from clubsetup.access.ids import new_id
from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from events.models import Entry, Event, EventClass, Finding, RuleSet, Void, WeighIn
from teams.models import (
    Club,
    ClubMember,
    CoachLink,
    Driver,
    DriverBirth,
    Invitation,
    Team,
    TeamMember,
    Track,
)
from tests.guards.world import World, refused, undone

# What stops it: a policy or a missing grant; a key or trigger that holds two rows together; or
# there is no such row for them.
POLICY, KEY, NOTHING = "policy", "key", "nothing"
Attempt = Callable[[World], int | None]
ATTEMPTS: dict[str, tuple[str, str, Attempt]] = {}


def attempt(who: str, stopped_by: str) -> Callable[[Attempt], Attempt]:
    """Registers an attempt by that person under its own name."""

    def add(function: Attempt) -> Attempt:
        ATTEMPTS[function.__name__] = (who, stopped_by, function)
        return function

    return add


def like(row: models.Model, **given: Any) -> None:
    """Inserts a copy of the row with an id of its own."""
    copy = type(row)()
    for column in row._meta.concrete_fields:
        setattr(copy, column.attname, getattr(row, column.attname))
    copy.pk = new_id()
    for name, value in given.items():
        setattr(copy, name, value)
    copy.save(force_insert=True)


# Into a team


@attempt("steward", POLICY)
def steward_invites_into_a_team_that_has_a_chief(w: World) -> None:
    like(w.invitation, invited_by=w.people.steward, digest="9" * 64, role="chief")


@attempt("steward", POLICY)
def steward_joins_a_team(w: World) -> None:
    p = w.people
    TeamMember.objects.create(team=p.team, club=p.club, user=p.steward, role="crew")


@attempt("steward", POLICY)
def steward_takes_a_guests_place(w: World) -> int:
    return TeamMember.objects.filter(user=w.people.guest).update(user=w.people.steward)


@attempt("guest", NOTHING)
def guest_makes_themself_chief(w: World) -> int:
    return TeamMember.objects.filter(user=w.people.guest).update(role="chief")


@attempt("coach", NOTHING)
def coach_lets_themself_write(w: World) -> int:
    return CoachLink.objects.filter(coach=w.people.coach).update(may_write=True)


@attempt("unlinked_coach", POLICY)
def coach_links_themself(w: World) -> None:
    p = w.people
    CoachLink.objects.create(team=p.team, club=p.club, coach=p.unlinked_coach)


@attempt("rival", KEY)
def rival_reads_into_another_teams_sheet_under_their_own_team(w: World) -> None:
    like(w.reading, team=w.people.rival_team, by=w.people.rival, take=5)


@attempt("rival", POLICY)
def rival_reads_into_another_teams_sheet(w: World) -> None:
    like(w.reading, by=w.people.rival, take=5)


@attempt("rival", POLICY)
def rival_lets_another_teams_car_run(w: World) -> None:
    like(w.run, by=w.people.rival)


@attempt("rival", POLICY)
def rival_lets_another_teams_car_run_under_their_own_team(w: World) -> None:
    like(w.run, by=w.people.rival, team=w.people.rival_team, sheet=None)


@attempt("rival", KEY)
def rival_times_another_teams_run(w: World) -> None:
    replaced = {"replaced_at": timezone.now(), "replaced_by": w.people.rival}
    like(w.laps, by=w.people.rival, team=w.people.rival_team, **replaced)


@attempt("rival", KEY)
def rival_says_how_another_teams_run_felt(w: World) -> None:
    like(w.feel, by=w.people.rival, team=w.people.rival_team, said_by="handler")


@attempt("rival", POLICY)
def rival_turns_another_teams_car_at_the_track(w: World) -> None:
    like(w.track_change, by=w.people.rival, team=w.people.rival_team)


@attempt("rival", KEY)
def rival_weighs_another_teams_car_at_the_track(w: World) -> None:
    like(w.track_reading, by=w.people.rival, team=w.people.rival_team)


@attempt("rival", KEY)
def rival_reads_another_teams_tyres_after_a_run(w: World) -> None:
    like(w.run_reading, by=w.people.rival, team=w.people.rival_team, spot="RR")


@attempt("rival", KEY)
def rival_says_what_was_on_another_teams_car_in_a_run(w: World) -> None:
    like(w.run_part, by=w.people.rival, team=w.people.rival_team, part=None, spot="RR")


@attempt("official", POLICY)
def official_ties_a_run_to_an_entry(w: World) -> None:
    like(w.entry_run, by=w.people.official)


@attempt("rival", POLICY)
def rival_ties_another_teams_run_to_their_own_entry(w: World) -> None:
    rival = w.people.rival_team
    like(w.entry_run, by=w.people.rival, team=rival, entry=w.meeting.rival_entry)


@attempt("crew", POLICY)
def crew_tie_a_run_to_an_entry_of_another_car(w: World) -> None:
    like(w.entry_run, by=w.people.crew, entry=w.meeting.entry)


@attempt("crew", POLICY)
def crew_note_laps_in_another_name(w: World) -> None:
    like(w.laps)


@attempt("crew", POLICY)
def crew_change_what_a_run_keeps_of_the_car(w: World) -> int:
    return Run.objects.update(car_state={})


@attempt("crew", POLICY)
def crew_change_a_lap(w: World) -> int:
    return Laps.objects.update(times=[Decimal(1), Decimal(1)])


@attempt("official", NOTHING)
def official_strikes_a_run(w: World) -> int:
    gone = {"struck_at": timezone.now(), "struck_by": w.people.official, "struck_reason": "No."}
    return Run.objects.update(**gone)


@attempt("crew", POLICY)
def crew_copies_a_driver_into_another_team(w: World) -> None:
    like(w.driver, team=w.people.rival_team)


@attempt("rival", KEY)
def rival_gives_another_teams_driver_a_birth_date(w: World) -> None:
    DriverBirth.objects.create(
        driver=w.spare_driver, team=w.people.rival_team, birth_date=date(2015, 1, 1)
    )


@attempt("rival", KEY)
def rival_marks_another_teams_part(w: World) -> None:
    PartCode.objects.create(part=w.spare_part, team=w.people.rival_team, code="X")


@attempt("rival", KEY)
def rival_hangs_their_ballast_on_another_teams_car(w: World) -> None:
    BallastPiece.objects.create(
        team=w.people.rival_team,
        car=w.meeting.car,
        label="",
        marked_mass=9,
        marked_mass_typed="9 kg",
    )


@attempt("rival", KEY)
def rival_opens_a_sheet_of_another_teams_car(w: World) -> None:
    like(w.sheet, team=w.people.rival_team, opened_by=w.people.rival)


@attempt("rival", KEY)
def rival_says_they_owned_another_teams_car(w: World) -> None:
    Ownership.objects.create(
        car=w.car, team=w.people.rival_team, since=date(2024, 1, 1), until=date(2025, 1, 1)
    )


@attempt("rival", KEY)
def rival_moves_their_ballast_onto_another_teams_car(w: World) -> int:
    piece = BallastPiece.objects.create(
        team=w.people.rival_team, label="31", marked_mass=2, marked_mass_typed="2 kg"
    )
    return BallastPiece.objects.filter(pk=piece.pk).update(car=w.meeting.car)


@attempt("chief", POLICY)
def chief_pushes_a_car_into_another_team(w: World) -> int:
    return Car.objects.filter(pk=w.car.pk).update(team=w.people.rival_team)


@attempt("rival", POLICY)
def rival_pulls_a_car_over(w: World) -> int:
    return Car.objects.filter(pk=w.car.pk).update(team=w.people.rival_team)


@attempt("rival", POLICY)
def rival_pulls_a_sheet_over(w: World) -> int:
    return Sheet.objects.filter(pk=w.sheet.pk).update(team=w.people.rival_team)


@attempt("crew", POLICY)
def crew_moves_a_reading_to_another_sheet(w: World) -> int:
    return Reading.objects.filter(pk=w.reading.pk).update(sheet=w.closed)


@attempt("crew", POLICY)
def crew_edits_a_figure(w: World) -> int:
    return Reading.objects.filter(pk=w.reading.pk).update(value=1)


@attempt("crew", KEY)
def crew_reads_into_a_closed_sheet(w: World) -> None:
    like(w.reading, sheet=w.closed, by=w.people.crew, take=5)


@attempt("crew", KEY)
def crew_edits_a_closed_sheet(w: World) -> int:
    return Sheet.objects.filter(pk=w.closed.pk).update(note="Better")


# Into a club


@attempt("chief", POLICY)
def chief_takes_the_whole_team_into_another_club(w: World) -> int:
    p = w.people
    CoachLink.objects.filter(team=p.team).delete()
    Team.objects.filter(pk=p.team.pk).update(club=p.other_club)
    return TeamMember.objects.filter(team=p.team).update(club=p.other_club)


@attempt("chief", POLICY)
def chief_makes_a_member_somebody_else(w: World) -> int:
    p = w.people
    return TeamMember.objects.filter(user=p.guest).update(user=p.stranger)


@attempt("other_steward", POLICY)
def steward_pulls_another_clubs_track_over(w: World) -> int:
    return Track.objects.filter(pk=w.track.pk).update(club=w.people.other_club)


@attempt("steward", POLICY)
def steward_pushes_a_track_into_another_club(w: World) -> int:
    return Track.objects.filter(pk=w.track.pk).update(club=w.people.other_club)


@attempt("stranger", POLICY)
def stranger_makes_themself_steward(w: World) -> None:
    ClubMember.objects.create(club=w.people.club, user=w.people.stranger, role="steward")


@attempt("stranger", POLICY)
def stranger_founds_a_club_in_anothers_name(w: World) -> None:
    Club.objects.create(name="X", short_name="x", founder=w.people.steward)


@attempt("steward", KEY)
def steward_holds_an_event_on_another_clubs_track(w: World) -> None:
    like(w.meeting.event, track=w.other_track)


@attempt("other_steward", KEY)
def steward_publishes_rules_for_another_clubs_class(w: World) -> None:
    RuleSet.objects.create(
        club=w.people.other_club, race_class=w.race_class, version=9, valid_from=date(2026, 1, 1)
    )


@attempt("steward", KEY)
def steward_edits_published_rules(w: World) -> int:
    return w.age_rule.__class__.objects.filter(pk=w.age_rule.pk).update(parameters={"at_least": 1})


@attempt("steward", KEY)
def steward_edits_a_published_target(w: World) -> int:
    return type(w.baseline_value).objects.filter(pk=w.baseline_value.pk).update(target=1)


# Around an event


def other_event(w: World) -> EventClass:
    """An event of Marl Heath, made at its tables by its own steward."""
    p = w.people
    with viewing_as(p.other_steward.pk):
        event = Event.objects.create(
            club=p.other_club,
            track=w.other_track,
            name="Heath Day",
            starts_on=date(2026, 6, 6),
            ends_on=date(2026, 6, 6),
            state="under_way",
        )
        rules = RuleSet.objects.create(
            club=p.other_club, race_class=w.other_class, version=1, valid_from=date(2026, 1, 1)
        )
        return EventClass.objects.create(
            event=event, club=p.other_club, race_class=w.other_class, rule_set=rules
        )


@attempt("other_official", POLICY)
def official_enters_a_car_of_another_clubs_team(w: World) -> None:
    event_class = other_event(w)
    like(
        w.meeting.entry,
        event=event_class.event,
        event_class=event_class,
        club=w.people.other_club,
    )


@attempt("chief", POLICY)
def chief_enters_at_a_club_they_are_not_of(w: World) -> None:
    event_class = other_event(w)
    like(
        w.meeting.entry,
        event=event_class.event,
        event_class=event_class,
        club=w.people.other_club,
    )


@attempt("rival", KEY)
def rival_enters_another_teams_car(w: World) -> None:
    like(w.meeting.rival_entry, car=w.car, number="77")


@attempt("rival", KEY)
def rival_enters_another_teams_driver(w: World) -> None:
    like(w.meeting.rival_entry, driver=w.driver, number="77", withdrawn_at=timezone.now())


@attempt("official", POLICY)
def official_points_an_entry_at_another_car(w: World) -> int:
    return Entry.objects.filter(pk=w.meeting.entry.pk).update(car=w.car)


@attempt("official", POLICY)
def official_weighs_in_anothers_name(w: World) -> None:
    like(w.weigh_in, by=w.people.steward)


@attempt("official", POLICY)
def official_edits_a_weigh_in(w: World) -> int:
    return WeighIn.objects.filter(pk=w.weigh_in.pk).update(total=1)


@attempt("official", POLICY)
def official_removes_a_finding(w: World) -> int:
    return Finding.objects.filter(pk=w.finding.pk)._raw_delete("default")


@attempt("other_official", KEY)
def official_finds_on_another_clubs_entry_under_their_own_club(w: World) -> None:
    like(w.finding, club=w.people.other_club, by=w.people.other_official, batch=new_id())


@attempt("official", KEY)
def official_voids_a_weigh_in_under_another_entry(w: World) -> None:
    rival = w.meeting.rival_entry
    Void.objects.create(
        entry=rival,
        club=rival.club,
        team=rival.team,
        by=w.people.official,
        weigh_in=w.weigh_in,
        reason="Not mine.",
    )


@attempt("official", KEY)
def official_finds_on_the_weigh_in_of_another_entry(w: World) -> None:
    rival = w.meeting.rival_entry
    like(w.finding, entry=rival, team=rival.team, by=w.people.official, batch=new_id())


# In somebody else's name, or on their link


@attempt("crew", POLICY)
def crew_comments_in_anothers_name(w: World) -> None:
    Comment.objects.create(sheet=w.sheet, team=w.people.team, by=w.people.coach, text="I agree.")


@attempt("crew", POLICY)
def crew_leaves_advice(w: World) -> None:
    like(w.advice, by=w.people.crew)


@attempt("crew", POLICY)
def crew_answers_as_if_it_were_the_coach(w: World) -> None:
    like(w.advice_reply, by=w.people.crew, of_coach=True)


@attempt("coach", POLICY)
def coach_answers_as_if_he_were_the_crew(w: World) -> None:
    like(w.advice_reply, by=w.people.coach)


@attempt("coach", POLICY)
def coach_advises_a_team_that_did_not_let_him_in(w: World) -> None:
    like(w.advice, by=w.people.coach, team=w.people.rival_team)


@attempt("rival", KEY)
def rival_answers_another_teams_advice(w: World) -> None:
    like(w.advice_reply, by=w.people.rival, team=w.people.rival_team)


@attempt("crew", POLICY)
def crew_accepts_a_plan_in_anothers_name(w: World) -> None:
    like(w.plan, by=w.people.chief)


@attempt("crew", POLICY)
def crew_resets_in_anothers_name(w: World) -> None:
    like(w.reset, by=w.people.chief)


@attempt("crew", POLICY)
def crew_opens_a_sheet_in_anothers_name(w: World) -> None:
    like(w.sheet, opened_by=w.people.chief)


@attempt("stranger", POLICY)
def stranger_writes_the_trail_in_anothers_name(w: World) -> None:
    TrailLine.objects.create(by=w.people.chief, did="gave", on_kind="x", on_id=new_id())


@attempt("chief", POLICY)
def chief_writes_in_the_trail_over_again(w: World) -> int:
    return TrailLine.objects.filter(team_id=w.people.team.pk).update(did="nothing")


@attempt("stranger", NOTHING)
def stranger_uses_an_invitation_whose_link_they_have_not(w: World) -> int:
    return Invitation.objects.filter(pk=w.invitation.pk).update(
        accepted_at=timezone.now(), accepted_by=w.people.stranger
    )


@attempt("steward", POLICY)
def steward_prolongs_an_invitation(w: World) -> int:
    later = timezone.now() + timedelta(days=99)
    return Invitation.objects.filter(pk=w.club_invitation.pk).update(expires_at=later)


@pytest.mark.parametrize("name", ATTEMPTS)
def test_it_is_stopped(name: str, world: World) -> None:
    who, expected, reach = ATTEMPTS[name]
    person: User = getattr(world.people, who)
    touched: list[int | None] = []
    stopped = ""
    with undone(), viewing_as(person.pk):
        try:
            if refused(lambda: touched.append(reach(world))):
                stopped = POLICY
            elif touched == [0]:
                stopped = NOTHING
        except IntegrityError:
            stopped = KEY
    assert stopped == expected, f"{name}: {stopped or 'not stopped at all'}"


def test_a_link_to_somebody_who_is_no_coach_opens_nothing(world: World) -> None:
    p = world.people
    with undone():
        with viewing_as(p.chief.pk):
            CoachLink.objects.create(
                team=p.team, club=p.club, coach=p.stranger, may_write=True, may_see_codes=True
            )
        with viewing_as(p.stranger.pk):
            for model in (Team, Car, Sheet, Reading, Driver, PartCode, BallastPiece, Entry):
                assert not model.objects.exists(), model


def test_a_coach_who_is_a_coach_no_more_sees_nothing(world: World) -> None:
    p = world.people
    with undone():
        with viewing_as(p.coach.pk):
            assert Sheet.objects.exists()
        with viewing_as(p.steward.pk):
            ClubMember.objects.filter(user=p.coach).delete()
        with viewing_as(p.coach.pk):
            for model in (Team, Car, Sheet, Reading, Driver):
                assert not model.objects.exists(), model


def test_a_founder_with_a_club_full_of_members_is_nobody_special(world: World) -> None:
    p = world.people
    with undone(), viewing_as(p.steward.pk):
        ClubMember.objects.filter(user=p.steward).delete()
        again = ClubMember(club=p.club, user=p.steward, role="steward")
        assert refused(lambda: again.save(force_insert=True))
