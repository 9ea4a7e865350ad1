"""Ballast checks: an official looks at each piece on the car, or finds that there is none."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from cars.models import BallastPiece
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.reading import Typed
from events.actions.device_time import check_device_time
from events.actions.findings import find_again, hold
from events.actions.photos import cleaned_photo, keep_photo
from events.actions.record_chain import enter_in_chain
from events.may import check_can_inspect
from events.models import BallastCheck, Entry, Event
from events.queries.facts import RESOLUTION


@action
def check_ballast(
    *,
    by: User,
    entry: Entry,
    label_legible: bool,
    fixed: bool,
    piece: BallastPiece | None = None,
    label: str = "",
    marked_mass: Typed | None = None,
    weighed_mass: Typed | None = None,
    place: str = "",
    photo: bytes | None = None,
    device_at: datetime | None = None,
    check_id: UUID | None = None,
) -> BallastCheck:
    """One piece as it was seen; `piece` where it is one that the team keeps here. Finds again.

    `photo`: a first one, as it was sent; more by `photograph_ballast`.
    """
    if piece is not None and piece.car_id != entry.car_id:
        raise Invalid("piece", "Choose a piece that is on this car.")
    if label_legible and not label.strip():
        raise Invalid("label", "Write what stands on the piece, or say that it cannot be read.")
    for name, mass in (("marked_mass", marked_mass), ("weighed_mass", weighed_mass)):
        if mass is not None and mass.value <= 0:
            raise Invalid(name, "A piece weighs more than nothing.")
    made = None if photo is None else cleaned_photo(photo)
    check = _keep(
        by,
        entry,
        pk=check_id or new_id(),
        device_at=device_at,
        piece=piece,
        label_legible=label_legible,
        label=label.strip(),
        marked_mass=marked_mass and marked_mass.value,
        weighed_mass=weighed_mass and weighed_mass.value,
        typed=_typed(marked_mass, weighed_mass),
        place=place.strip(),
        fixed=fixed,
    )
    if made is not None:
        keep_photo(by=by, ballast_check=check, photo=made, device_at=device_at)
    return check


@action
def check_no_ballast(
    *, by: User, entry: Entry, device_at: datetime | None = None, check_id: UUID | None = None
) -> BallastCheck:
    """The official looked and the car carries none. Takes the place of the looks before it."""
    return _keep(
        by,
        entry,
        pk=check_id or new_id(),
        device_at=device_at,
        none_on_car=True,
        label_legible=False,
        fixed=True,
    )


def _keep(by: User, entry: Entry, **fields: Any) -> BallastCheck:
    check_can_inspect(by, entry)
    check_device_time(fields["device_at"], entry.event)
    hold(entry)
    if entry.withdrawn_at is not None:
        raise WrongState("This entry was withdrawn.")
    if entry.event.state != Event.State.UNDER_WAY:
        raise WrongState(f"The desk of {entry.event} is open while the event is under way.")
    check = BallastCheck.objects.create(
        entry=entry, club_id=entry.club_id, team_id=entry.team_id, by=by, **fields
    )
    record(by=by, did="checked_ballast", on=check, club_id=entry.club_id)
    findings = find_again(by=by, entry=entry, device_at=fields["device_at"])
    enter_in_chain(entry.event_id, check, *findings)
    return check


def _typed(marked: Typed | None, weighed: Typed | None) -> Mapping[str, str]:
    typed: dict[str, str] = {}
    if marked is not None:
        typed["marked"] = marked.text
    if weighed is not None:
        typed["weighed"] = weighed.text
        typed[RESOLUTION] = str(weighed.resolution)
    return typed
