"""Where a piece of ballast is: on a car at a mount, or on the shelf."""

from uuid import UUID

from cars.models import BallastMount, BallastPiece, Car
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.models import User
from teams.permissions import check_can_crew


@action
def move_ballast_piece(
    *, by: User, piece: BallastPiece, car: Car | None, mount: BallastMount | None = None
) -> BallastPiece:
    """Fixes a piece to a car at a mount, or puts it on the shelf (no car)."""
    check_can_crew(by, piece.team)
    if piece.retired_at is not None:
        raise WrongState("This piece is retired. Add it again if it is back in use.")
    was = {"car": _id(piece.car_id), "mount": _id(piece.mount_id)}
    place_piece(piece, car, mount)
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


def place_piece(piece: BallastPiece, car: Car | None, mount: BallastMount | None) -> None:
    """Where the piece is from now on, unless car and mount do not go together; not yet kept."""
    if car is not None and car.team_id != piece.team_id:
        raise Invalid("car", "Choose a car of the team that owns the piece.")
    if mount is not None and car is None:
        raise Invalid("mount", "Choose the car that the piece is fixed to.")
    if mount is not None and car is not None and mount.chassis_id != car.chassis_id:
        raise Invalid("mount", f"Choose a mount of car {car.number}'s chassis.")
    piece.car, piece.mount = car, mount


def _id(value: UUID | None) -> str | None:
    return str(value) if value else None
