"""Tracks and classes: what a steward keeps for the club."""

from uuid import UUID

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.reading import Typed
from teams.models import Club, RaceClass, Surface, Track
from teams.permissions import check_can_steward

DESCRIBED = ("name", "surface", "corner_radius", "lap_length", "banking", "typed")


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
    track = Track(pk=track_id or new_id(), club=club)
    _describe(
        track,
        name=name,
        surface=surface,
        corner_radius=corner_radius,
        lap_length=lap_length,
        banking=banking,
    )
    track.save(force_insert=True)
    record(by=by, did="added", on=track, club_id=club.pk)
    return track


@action
def change_track(
    *,
    by: User,
    track: Track,
    name: str,
    surface: str,
    corner_radius: Typed | None = None,
    lap_length: Typed | None = None,
    banking: Typed | None = None,
) -> Track:
    """Writes the track's shape anew; what is left out is unknown."""
    check_can_steward(by, track.club)
    _describe(
        track,
        name=name,
        surface=surface,
        corner_radius=corner_radius,
        lap_length=lap_length,
        banking=banking,
    )
    track.save(update_fields=DESCRIBED)
    record(by=by, did="changed", on=track, club_id=track.club_id)
    return track


def _describe(
    track: Track,
    *,
    name: str,
    surface: str,
    corner_radius: Typed | None,
    lap_length: Typed | None,
    banking: Typed | None,
) -> None:
    if surface not in Surface.values:
        raise Invalid("surface", "Choose paved or dirt.")
    name = name.strip()
    others = Track.objects.filter(club_id=track.club_id, name=name).exclude(pk=track.pk)
    if not name or others.exists():
        raise Invalid("name", "Give the track a name that the club has not used yet.")
    for field, length in (("corner_radius", corner_radius), ("lap_length", lap_length)):
        if length is not None and length.value <= 0:
            raise Invalid(field, "A length is more than nothing; leave it empty if unknown.")
    track.name, track.surface = name, surface
    track.corner_radius = corner_radius.value if corner_radius else None
    track.lap_length = lap_length.value if lap_length else None
    track.banking = banking.value if banking else None
    shape = {"corner_radius": corner_radius, "lap_length": lap_length, "banking": banking}
    track.typed = {name: one.text for name, one in shape.items() if one}


@action
def add_race_class(
    *, by: User, club: Club, name: str, race_class_id: UUID | None = None
) -> RaceClass:
    """A class by its name; its rules follow in a rule set."""
    check_can_steward(by, club)
    name = name.strip()
    if not name or RaceClass.objects.filter(club=club, name=name).exists():
        raise Invalid("name", "Give the class a name that the club has not used yet.")
    race_class = RaceClass.objects.create(pk=race_class_id or new_id(), club=club, name=name)
    record(by=by, did="added", on=race_class, club_id=club.pk)
    return race_class
