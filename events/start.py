"""What events bring to the start page."""

from django.db.models import Q
from django.utils import timezone

from clubsetup.access.models import User
from clubsetup.clock.writing import day
from clubsetup.site.start_sections import Section, section
from events.models import Entry, Event
from events.presenters.results import results_of
from events.queries.listing import events_of, tended_clubs
from events.queries.results import entries_of
from teams.models import Club
from teams.queries.roles import roles_of

SHOWN = 5


@section(5)
def desk_section(user: User) -> Section | None:
    """An official's desks: the events under way at the clubs they are an official of."""
    clubs = tended_clubs(user)
    if not clubs:
        return None
    under_way = Event.objects.filter(club__in=clubs, state=Event.State.UNDER_WAY)
    return Section("events/start_desk.html", {"events": under_way.select_related("club", "track")})


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


@section(50)
def events_section(user: User) -> Section | None:
    """The newest events of a person's clubs, and how their team's cars did."""
    if not Club.objects.exists():
        return None
    newest = list(events_of(user)[:SHOWN])
    results = results_of(entries_of(roles_of(user).teams)[:SHOWN], user.units())
    context = {"events": newest, "results": results}
    return Section("events/start_events.html", context, heading=_heading(user))


def _heading(user: User) -> str:
    """The event that is on, or else the next one."""
    coming = Q(state=Event.State.PLANNED, starts_on__gte=timezone.localdate())
    wanted = events_of(user).filter(Q(state=Event.State.UNDER_WAY) | coming)
    event = wanted.order_by("-state", "starts_on").first()
    if event is None:
        return ""
    is_on = event.state == Event.State.UNDER_WAY
    return f"{event} is under way" if is_on else f"{event}, {day(event.starts_on)}"


SECTIONS = (desk_section, confirm_section, events_section)
