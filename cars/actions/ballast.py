"""Ballast: the places for it on a chassis, and the team's pieces."""

from uuid import UUID

from django.utils import timezone

from cars.geometry import refuse_outside
from cars.may import check_can_keep_chassis
from cars.models import BallastMount, BallastPiece, Car, Chassis
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.reading import Typed
from teams.may import check_can_crew
from teams.models import Team


@action
def add_mount(
    *,
    by: User,
    chassis: Chassis,
    name: str,
    x: Typed,
    y: Typed,
    capacity: Typed,
    mount_id: UUID | None = None,
) -> BallastMount:
    """A place on the chassis (x forward of the rear axle, y left) and what it may carry."""
    check_can_keep_chassis(by, chassis)
    name = name.strip()
    if not name or BallastMount.objects.filter(chassis=chassis, name=name).exists():
        raise Invalid("name", "Give the mount a name that this chassis has not used yet.")
    if capacity.value <= 0:
        raise Invalid("capacity", "A mount carries more than nothing.")
    refuse_outside(chassis.geometry, x, y)
    mount = BallastMount.objects.create(
        pk=mount_id or new_id(),
        chassis=chassis,
        club_id=chassis.club_id,
        name=name,
        x=x.value,
        y=y.value,
        capacity=capacity.value,
        typed={"x": x.text, "y": y.text, "capacity": capacity.text},
    )
    record(by=by, did="added", on=mount, club_id=chassis.club_id)
    return mount


@action
def add_ballast_piece(
    *,
    by: User,
    team: Team,
    label: str,
    marked_mass: Typed,
    car: Car | None = None,
    mount: BallastMount | None = None,
    piece_id: UUID | None = None,
) -> BallastPiece:
    """A piece with what is written on it; on a car, at a mount, or on the shelf."""
    check_can_crew(by, team)
    if not label.strip():
        raise Invalid("label", "Write the name or car number that stands on the piece.")
    if marked_mass.value <= 0:
        raise Invalid("marked_mass", "A piece weighs more than nothing.")
    piece = BallastPiece(
        pk=piece_id or new_id(),
        team=team,
        label=label.strip(),
        marked_mass=marked_mass.value,
        marked_mass_typed=marked_mass.text,
    )
    _place(piece, car, mount)
    piece.save(force_insert=True)
    record(by=by, did="added", on=piece, team_id=team.pk, marked=marked_mass.text)
    return piece


@action
def move_ballast_piece(
    *, by: User, piece: BallastPiece, car: Car | None, mount: BallastMount | None = None
) -> BallastPiece:
    """Fixes a piece to a car at a mount, or puts it on the shelf (no car)."""
    check_can_crew(by, piece.team)
    if piece.retired_at is not None:
        raise WrongState("This piece is retired. Add it again if it is back in use.")
    was = {"car": _id(piece.car_id), "mount": _id(piece.mount_id)}
    _place(piece, car, mount)
    piece.save(update_fields=["car", "mount"])
    record(
        by=by,
        did="moved",
        on=piece,
        team_id=piece.team_id,
        was=was,
        now={"car": _id(piece.car_id), "mount": _id(piece.mount_id)},
    )
    return piece


@action
def retire_ballast_piece(*, by: User, piece: BallastPiece) -> BallastPiece:
    """Takes a piece out of use: off the car, and no longer offered."""
    check_can_crew(by, piece.team)
    if piece.retired_at is not None:
        raise WrongState("This piece is retired already.")
    piece.car, piece.mount, piece.retired_at = None, None, timezone.now()
    piece.save(update_fields=["car", "mount", "retired_at"])
    record(by=by, did="retired", on=piece, team_id=piece.team_id)
    return piece


def _place(piece: BallastPiece, car: Car | None, mount: BallastMount | None) -> None:
    if car is not None and car.team_id != piece.team_id:
        raise Invalid("car", "Choose a car of the team that owns the piece.")
    if mount is not None and car is None:
        raise Invalid("mount", "Choose the car that the piece is fixed to.")
    if mount is not None and car is not None and mount.chassis_id != car.chassis_id:
        raise Invalid("mount", f"Choose a mount of car {car.number}'s chassis.")
    piece.car, piece.mount = car, mount


def _id(value: UUID | None) -> str | None:
    return str(value) if value else None
