"""Last time here: on a car's page, how it was set at the track of its next event."""

from dataclasses import dataclass
from uuid import UUID

from cars.bench.presenters.car_sections import CarSection
from cars.history.presenters.back_to_track import sheet_day
from cars.history.queries.back_to_track import sheets_at
from cars.models import Car, Sheet, Step
from clubsetup.access.models import User
from events.models import Event
from events.queries.listing import entries_ahead
from teams.models import Track


@dataclass(frozen=True, slots=True)
class LastTime:
    """The event ahead, its track, and the newest sheet as set there."""

    event: Event
    track: Track
    car: UUID
    sheet: Sheet

    @property
    def name(self) -> str:
        """'as set 18 Nov 2026'."""
        return sheet_day(self.sheet)


def last_time_here(car: UUID, team: UUID, viewer: User, step: Step | None) -> CarSection | None:
    """Of the event that comes first; nothing where the car was never set at its track."""
    if step is not None:
        return None
    entries = [entry for entry in entries_ahead(viewer, [car]) if entry.team_id == team]
    if not entries:
        return None
    event = entries[-1].event
    track = Track.objects.filter(pk=event.track_id).first()
    if track is None:
        return None
    # By itself: joined with what it shows, all sheets of the car there would be sorted.
    there = sheets_at(Car(pk=car, team_id=team), track, track.surface).select_related(None)
    sheet = there.first()
    if sheet is None:
        return None
    return CarSection("events/last_time.html", [LastTime(event, track, car, sheet)])


CAR_SECTIONS = (last_time_here,)
