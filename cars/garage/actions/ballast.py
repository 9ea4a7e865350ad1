"""The team's pieces of ballast."""

from uuid import UUID

from django.utils import timezone

from cars.models import BallastMount, BallastPiece, Car
from cars.sheets.actions.ballast import place_piece
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.reading import Typed
from teams.models import Team
from teams.permissions import check_can_crew


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
    place_piece(piece, car, mount)
    piece.save(force_insert=True)
    record(by=by, did="added", on=piece, team_id=team.pk, marked=marked_mass.text)
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
