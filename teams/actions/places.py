"""Tracks and classes: what a steward keeps for the club."""

from uuid import UUID

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.reading import Typed
from teams.may import check_can_steward
from teams.models import Club, RaceClass, Surface, Track


@action
def add_track(
    *,
    by: User,
    club: Club,
    name: str,
    surface: str,
    corner_radius: Typed | None = None,
    lap_length: Typed | None = None,
    banking: Typed | None = None,
    track_id: UUID | None = None,
) -> Track:
    """A track with what is known of its shape."""
    check_can_steward(by, club)
    if surface not in Surface.values:
        raise Invalid("surface", "Choose paved or dirt.")
    if not name.strip() or Track.objects.filter(club=club, name=name.strip()).exists():
        raise Invalid("name", "Give the track a name that the club has not used yet.")
    track = Track.objects.create(
        pk=track_id or new_id(),
        club=club,
        name=name.strip(),
        surface=surface,
        corner_radius=corner_radius and corner_radius.value,
        lap_length=lap_length and lap_length.value,
        banking=banking and banking.value,
    )
    record(by=by, did="added", on=track, club_id=club.pk)
    return track


@action
def add_race_class(
    *, by: User, club: Club, name: str, race_class_id: UUID | None = None
) -> RaceClass:
    """A class by its name; its rules follow in a rule set."""
    check_can_steward(by, club)
    if not name.strip() or RaceClass.objects.filter(club=club, name=name.strip()).exists():
        raise Invalid("name", "Give the class a name that the club has not used yet.")
    race_class = RaceClass.objects.create(
        pk=race_class_id or new_id(), club=club, name=name.strip()
    )
    record(by=by, did="added", on=race_class, club_id=club.pk)
    return race_class
