"""Clubs and their members."""

from collections.abc import Mapping
from uuid import UUID

from django.db import connection

from clubsetup.access.account import checked_units
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.access.notices import tell
from clubsetup.access.second_factor import has_second_factor
from clubsetup.clock.zones import unknown_zone
from clubsetup.site.service_clock import service_zone_name
from teams.models import Club, ClubMember, ClubRole
from teams.models.club import LEAST_IDLE, MOST_IDLE
from teams.permissions import check_can_steward
from teams.queries.roles import forget_roles


@action
def found_club(
    *,
    by: User,
    name: str,
    short_name: str,
    time_zone: str | None = None,
    club_id: UUID | None = None,
) -> Club:
    """Makes a club with its first steward. Offered on the command line only."""
    club = Club(pk=club_id or new_id(), name=name, short_name=short_name, founder=by)
    club.time_zone = time_zone or service_zone_name()
    club.full_clean()
    club.save(force_insert=True)
    ClubMember.objects.create(club=club, user=by, role=ClubRole.STEWARD)
    forget_roles(by)
    record(by=by, did="founded", on=club, club_id=club.pk)
    return club


@action
def set_club_units(*, by: User, club: Club, units: Mapping[str, str]) -> Club:
    """What the club's members type when they name no unit."""
    check_can_steward(by, club)
    club.preferred_units = checked_units(units)
    club.save(update_fields=["preferred_units"])
    record(by=by, did="set_units", on=club, club_id=club.pk, units=club.preferred_units)
    return club


@action
def set_club_time_zone(*, by: User, club: Club, time_zone: str) -> Club:
    """Whose wall clock the club's people read. What is on record keeps its moment."""
    check_can_steward(by, club)
    if problem := unknown_zone(time_zone):
        raise Invalid("time_zone", problem)
    club.time_zone = time_zone
    club.save(update_fields=["time_zone"])
    record(by=by, did="set_time_zone", on=club, club_id=club.pk, time_zone=time_zone)
    forget_roles(by)
    return club


@action
def set_club_idle_minutes(*, by: User, club: Club, minutes: int | None) -> Club:
    """After how long an official's unused device is signed out; from their next sign-in on."""
    check_can_steward(by, club)
    if minutes is not None and not LEAST_IDLE <= minutes <= MOST_IDLE:
        raise Invalid("minutes", f"Give {LEAST_IDLE} to {MOST_IDLE} minutes, or none.")
    club.official_idle_minutes = minutes
    club.save(update_fields=["official_idle_minutes"])
    record(by=by, did="set_idle", on=club, club_id=club.pk, minutes=minutes)
    return club


@action
def set_club_second_factor(*, by: User, club: Club, asked: bool) -> Club:
    """Whether stewards and officials must have a second factor; without one their role rests.

    Who turns it on has one, so that the club is not left without a steward by that.
    """
    check_can_steward(by, club)
    if asked and not has_second_factor(by):
        raise Invalid("asked", "Set up a second factor for yourself first.")
    club.asks_second_factor = asked
    club.save(update_fields=["asks_second_factor"])
    record(by=by, did="asks_second_factor", on=club, club_id=club.pk, asked=asked)
    return club


@action
def end_for_member(*, by: User, club: Club, who: User) -> int:
    """Ends all sign-ins and tokens of a person who is or was in the club; how many there were."""
    check_can_steward(by, club)
    with connection.cursor() as cursor:
        cursor.execute("SELECT access.end_for_member(%s, %s)", [club.pk, who.pk])
        row = cursor.fetchone()
    if row is None or row[0] is None:
        raise NotAllowed(f"They are not in {club}, and were not.")
    record(by=by, did="ended_access", on=who, club_id=club.pk, who=str(who.pk), count=row[0])
    tell(who, f"A steward of {club} ended all your sign-ins and tokens.")
    return int(row[0])


@action
def remove_club_member(*, by: User, member: ClubMember) -> None:
    """Takes a role from a person; they may also lay it down themselves. The last steward stays."""
    if member.user_id != by.pk:
        check_can_steward(by, member.club)
    _keep_a_steward(member)
    record(
        by=by,
        did="removed",
        on=member,
        club_id=member.club_id,
        role=member.role,
        who=str(member.user_id),
    )
    member.delete()
    forget_roles(by)


def _keep_a_steward(member: ClubMember) -> None:
    if member.role != ClubRole.STEWARD:
        return
    # Locked, so that two stewards who leave at once cannot both find the other one staying.
    Club.objects.select_for_update(of=["self"]).get(pk=member.club_id)
    stewards = ClubMember.objects.filter(club_id=member.club_id, role=ClubRole.STEWARD)
    if not stewards.exclude(pk=member.pk).exists():
        raise WrongState(f"{member.club} would be without a steward. Invite another one first.")
