"""The records of events that somebody may take away."""

from django.urls import reverse

from cars.exchange.presenters.record_exports import RecordExport
from clubsetup.access.models import User
from clubsetup.clock.writing import day
from events.models import Event
from teams.queries.roles import roles_of

NEWEST = 10


def desk_records(viewer: User) -> list[RecordExport]:
    """Those of the newest events at whose desk the viewer may stand."""
    clubs = roles_of(viewer).desk_clubs
    if not clubs:
        return []
    events = Event.objects.of_clubs(clubs).order_by("-starts_on", "-id")[:NEWEST]
    return [
        RecordExport(event.name, reverse("records", args=[event.pk]), day(event.starts_on))
        for event in events
    ]


RECORD_EXPORTS = [desk_records]
