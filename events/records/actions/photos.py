"""Photos of ballast, kept with the look they belong to."""

from datetime import datetime
from uuid import UUID

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from events.models import BallastCheck, BallastPhoto, Entry, Event
from events.models.photo import MOST_PHOTOS
from events.permissions import check_can_inspect
from events.queries.ballast import ballast_of
from events.records.actions.chain import enter_in_chain
from events.records.actions.device_time import check_device_time
from events.records.actions.entry_lock import hold
from events.rules.photo import NotAPhoto, Photo, cleaned


@action
def photograph_ballast(
    *,
    by: User,
    ballast_check: BallastCheck,
    photo: bytes,
    device_at: datetime | None = None,
    photo_id: UUID | None = None,
) -> BallastPhoto:
    """Adds a photo, as it was sent, to a look that stands. Finds nothing again: no rule sees it."""
    entry = ballast_check.entry
    check_can_inspect(by, entry)
    check_device_time(device_at, entry.event)
    made = cleaned_photo(photo)
    hold(entry)
    _refuse_unless_open(entry)
    _refuse_unless_standing(ballast_check)
    return keep_photo(
        by=by, ballast_check=ballast_check, photo=made, device_at=device_at, photo_id=photo_id
    )


def cleaned_photo(sent: bytes) -> Photo:
    """The photo as it is kept. Takes a moment: before anything is held."""
    try:
        return cleaned(sent)
    except NotAPhoto as problem:
        raise Invalid("photo", str(problem)) from problem


def keep_photo(
    *,
    by: User,
    ballast_check: BallastCheck,
    photo: Photo,
    device_at: datetime | None = None,
    photo_id: UUID | None = None,
) -> BallastPhoto:
    """Part of an official's action, which holds the entry."""
    number = ballast_check.photos.count() + 1
    if number > MOST_PHOTOS:
        raise WrongState(f"This look has {MOST_PHOTOS} photos already.")
    row = BallastPhoto.objects.create(
        pk=photo_id or new_id(),
        entry_id=ballast_check.entry_id,
        club_id=ballast_check.club_id,
        team_id=ballast_check.team_id,
        by=by,
        device_at=device_at,
        ballast_check=ballast_check,
        number=number,
        picture=photo.picture,
        small=photo.small,
        width=photo.width,
        height=photo.height,
        sha256=photo.sha256,
    )
    record(by=by, did="photographed", on=row, club_id=row.club_id, number=number)
    enter_in_chain(ballast_check.entry.event_id, row)
    return row


def _refuse_unless_open(entry: Entry) -> None:
    if entry.withdrawn_at is not None:
        raise WrongState("This entry was withdrawn.")
    if entry.event.state != Event.State.UNDER_WAY:
        raise WrongState(f"The desk of {entry.event} is open while the event is under way.")


def _refuse_unless_standing(ballast_check: BallastCheck) -> None:
    if ballast_check.none_on_car:
        raise WrongState("There was no ballast on the car: look at a piece first.")
    if ballast_check.not_on_car:
        raise WrongState("This piece was not on the car: look at it first.")
    every = list(ballast_check.entry.ballastchecks.select_related("void"))
    if ballast_check in ballast_of(every, ()).on_car:
        return
    if any(hasattr(one, "void") for one in every if one.pk == ballast_check.pk):
        raise WrongState("This ballast check is void.")
    raise WrongState("A later record took the place of this one. Add the photo to a later look.")
