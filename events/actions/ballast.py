"""Ballast checks: an official looks at each piece on the car, or finds that it, or any, is not
there."""

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
from events.actions.findings import find_again
from events.models import BallastCheck, Entry, Event
from events.models.tech import RESOLUTION
from events.permissions import check_can_inspect
from events.queries.ballast import ballast_of, listed_on, piece_key, pieces_on
from events.records.actions.chain import enter_in_chain
from events.records.actions.device_time import check_device_time
from events.records.actions.entry_lock import hold
from events.records.actions.photos import cleaned_photo, keep_photo


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
    when_weighed: str = "",
    photo: bytes | None = None,
    device_at: datetime | None = None,
    check_id: UUID | None = None,
) -> BallastCheck:
    """One piece as it was seen; `piece` where it is one that the team keeps here. Finds again.

    `when_weighed`: of a piece that nobody knew of when the car was weighed, whether it was on the
    car then ('on', 'off'). `photo`: a first one, as it was sent; more by `photograph_ballast`.
    """
    if piece is not None and piece.car_id != entry.car_id:
        raise Invalid("piece", "Choose a piece that is on this car.")
    if label_legible and not label.strip():
        raise Invalid("label", "Write what stands on the piece, or say that it cannot be read.")
    for name, mass in (("marked_mass", marked_mass), ("weighed_mass", weighed_mass)):
        if mass is not None and mass.value <= 0:
            raise Invalid(name, "A piece weighs more than nothing.")
    if when_weighed and when_weighed not in BallastCheck.WhenWeighed.values:
        raise Invalid("when_weighed", "Say whether it was on the car when it was weighed.")
    _open(by, entry, device_at)
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
        when_weighed=when_weighed,
    )
    if made is not None:
        keep_photo(by=by, ballast_check=check, photo=made, device_at=device_at)
    return check


@action
def check_no_ballast(
    *, by: User, entry: Entry, device_at: datetime | None = None, check_id: UUID | None = None
) -> BallastCheck:
    """The official looked and the car carries none.

    Refused while a piece stands as on the car, looked at or listed by the team: what becomes of
    each is said first (`record_not_on_car`).
    """
    _open(by, entry, device_at)
    _refuse_while_a_piece_stands(entry)
    return _keep(
        by,
        entry,
        pk=check_id or new_id(),
        device_at=device_at,
        none_on_car=True,
        label_legible=False,
        fixed=True,
    )


@action
def record_not_on_car(
    *,
    by: User,
    entry: Entry,
    reason: str,
    piece: BallastPiece | None = None,
    look: BallastCheck | None = None,
    device_at: datetime | None = None,
    check_id: UUID | None = None,
) -> BallastCheck:
    """A piece that the team lists (`piece`), or that was looked at (`look`), is not on the car.

    The team's own list stays as it is. Finds again: what was weighed before is another car.
    """
    _open(by, entry, device_at)
    if not reason.strip():
        raise Invalid("reason", "Say why it is not on the car, in a few words.")
    look = _refuse_unknown(entry, piece, look)
    return _keep(
        by,
        entry,
        pk=check_id or new_id(),
        device_at=device_at,
        not_on_car=True,
        piece_id=look.piece_id if look else None if piece is None else piece.pk,
        look=look,
        label=look.label if look else "" if piece is None else piece.label,
        reason=reason.strip(),
        label_legible=False,
        fixed=True,
    )


def _refuse_unknown(
    entry: Entry, piece: BallastPiece | None, look: BallastCheck | None
) -> BallastCheck | None:
    """The newest look at the piece, None where nobody has looked; refuses what is not on record."""
    if (piece is None) == (look is None):
        raise Invalid("piece", "Say which piece: one of the team's, or a look at one.")
    if look is not None and look.entry_id != entry.pk:
        raise Invalid("look", "Choose a look at a piece on this car.")
    ballast = ballast_of(entry.ballastchecks.select_related("void"), listed_on(entry))
    key = piece.pk if piece is not None else piece_key(look) if look is not None else None
    if known := next((one for one in ballast.on_car if piece_key(one) == key), None):
        return known
    if any(piece_key(one) == key for one in ballast.off):
        raise WrongState("This piece is on record as not on the car already.")
    if look is not None:
        raise WrongState("This look does not count any more.")
    if str(key) not in ballast.unseen:
        raise Invalid("piece", "Choose a piece that is on this car.")
    return None


def _refuse_while_a_piece_stands(entry: Entry) -> None:
    pieces = {str(piece.pk): str(piece) for piece in pieces_on(entry)}
    ballast = ballast_of(entry.ballastchecks.select_related("void"), pieces)
    if ballast.is_empty:
        return
    seen = [f"{look.label or 'an unmarked piece'} (looked at)" for look in ballast.on_car]
    listed = [f"{pieces[one]} (on the team's list)" for one in ballast.unseen]
    raise Invalid(
        "none_on_car",
        f"On record as on the car: {', '.join(seen + listed)}. Record each as not on the car, with "
        "the reason, before you say that there is none.",
    )


def _open(by: User, entry: Entry, device_at: datetime | None) -> None:
    check_can_inspect(by, entry)
    check_device_time(device_at, entry.event)
    hold(entry)
    if entry.withdrawn_at is not None:
        raise WrongState("This entry was withdrawn.")
    if entry.event.state != Event.State.UNDER_WAY:
        raise WrongState(f"The desk of {entry.event} is open while the event is under way.")


def _keep(by: User, entry: Entry, **fields: Any) -> BallastCheck:
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
