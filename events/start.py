"""What events bring to the start page."""

from collections.abc import Sequence
from uuid import UUID

from django.db.models import Q
from django.utils import timezone

from clubsetup.access.models import User
from clubsetup.clock.writing import day
from clubsetup.site.start_sections import Place, Section, section
from events.models import Entry, Event
from events.presenters.desk_next import desk_next
from events.presenters.results import Result, results_of
from events.queries.listing import events_ahead, events_of, stewarded_clubs, tended_clubs
from events.queries.results import entries_of
from teams.models import Club
from teams.queries.roles import roles_of

SHOWN = 5


@section(5)
def desk_section(user: User) -> Section | None:
    """An official's desks: what is left to do at the events under way of their clubs."""
    clubs = tended_clubs(user)
    if not clubs:
        return None
    mine = {club.pk for club in clubs}
    ahead = [event for event in events_ahead(user) if event.club_id in mine]
    return Section("events/start_desk.html", {"desks": desk_next(ahead), "title": "Tech desk"})


@section(6)
def confirm_section(user: User) -> Section | None:
    """The entries that the club made by hand for a person's team, until its crew confirm them."""
    roles = roles_of(user)
    waiting = list(
        Entry.objects.current()
        .filter(
            team__in=[team for team in roles.teams if roles.is_crew(team)],
            confirmed_at__isnull=True,
        )
        .exclude(event__state=Event.State.OVER)
        .select_related("event", "event_class__race_class", "team")
    )
    return Section("events/start_confirm.html", {"entries": waiting}) if waiting else None


@section(7)
def steward_section(user: User) -> Section | None:
    """A steward's next event: how far it is, or that one is to be planned."""
    clubs = stewarded_clubs(user)
    if not clubs:
        return None
    roles = roles_of(user)
    ahead = [each for each in events_ahead(user) if each.club_id in roles.steward_clubs]
    if ahead and all(each.club_id in roles.official_clubs for each in ahead):
        return None  # told as an official already
    context = {"desks": desk_next(ahead, weighs=False), "title": "Events", "clubs": clubs}
    return Section("events/start_desk.html", context)


@section(50)
def events_section(user: User) -> Section | None:
    """What is on now, what is coming, and, folded, what is over and how their cars did."""
    if not (roles_of(user).member_clubs or Club.objects.exists()):
        return None
    ahead = events_ahead(user)
    now = [event for event in ahead if is_on(event)]
    coming = [event for event in ahead if not is_on(event)][:SHOWN]
    results = _results(user, ahead)
    is_past = Q(state=Event.State.OVER) | Q(
        state=Event.State.PLANNED, ends_on__lt=timezone.localdate()
    )
    of_event: dict[UUID, list[Result]] = {event.pk: [] for event in ahead}
    past: list[Result] = []
    for one in results:
        of_event.get(one.entry.event_id, past).append(one)
    context = {
        "now": [(event, of_event[event.pk]) for event in now],
        "coming": [(event, of_event[event.pk]) for event in coming],
        "over": list(events_of(user).filter(is_past)[:SHOWN]),
        "past": past,
        "stewarded": stewarded_clubs(user),
    }
    return Section(
        "events/start_events.html",
        context,
        heading=_heading(ahead),
        lead=_lead(ahead, results),
        place=Place.BESIDE,
    )


def is_on(event: Event) -> bool:
    """Under way, or planned for today."""
    return event.state == Event.State.UNDER_WAY or event.starts_on <= timezone.localdate()


def _results(user: User, ahead: Sequence[Event]) -> list[Result]:
    """Of the team's cars in what is not over, and the newest of what is."""
    teams = roles_of(user).teams
    standing = entries_of(teams).filter(withdrawn_at__isnull=True, event__in=ahead)
    past = entries_of(teams).exclude(event__in=ahead)[:SHOWN]
    return results_of([*standing, *past], user.units())


def _heading(ahead: Sequence[Event]) -> str:
    """The event that is on, or else the next one."""
    if not ahead:
        return ""
    event = ahead[0]
    if event.state == Event.State.UNDER_WAY:
        return f"{event} is under way"
    return f"{event} is today" if is_on(event) else f"{event}, {day(event.starts_on)}"


def _lead(ahead: Sequence[Event], results: Sequence[Result]) -> str:
    """'Alder Hollow, paved. 31 and 13 are entered.'"""
    if not ahead:
        return ""
    event = ahead[0]
    where = f"{event.track}, {event.track.get_surface_display().lower()}."
    numbers = [one.entry.number for one in results if one.entry.event_id == event.pk]
    if not numbers:
        return where
    said = " and ".join(filter(None, [", ".join(numbers[:-1]), numbers[-1]]))
    return f"{where} {said} {'is' if len(numbers) == 1 else 'are'} entered."


SECTIONS = (desk_section, confirm_section, steward_section, events_section)
