"""What ballast put on, taken off or moved would do to a car's weights, shares and heights."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from django.db.models import Q

from cars.catalogue.keys import Key
from cars.figures.derived import Figure, add_derived
from cars.figures.prediction_format import as_decimal
from cars.mechanics import CORNER_NAMES, Chassis, Corners, Response, response
from cars.models import BallastMount, BallastPiece, Car
from cars.runs.queries.car_now import Expected

# Which way a mount must lie to be at a spot: parts of x (forward) and y (left).
WAYS = {
    "front": (1, 0),
    "rear": (-1, 0),
    "left": (0, 1),
    "right": (0, -1),
    "LF": (1, 1),
    "RF": (1, -1),
    "LR": (-1, 1),
    "RR": (-1, -1),
}
NO_MOUNT = "No mount of ballast is known on this chassis; a steward can add it."
NO_PIECE = "No piece of ballast is noted on this car."
NOWHERE = "Where on the car it goes is not said, so only its weight is."
FULL = "No mount there has room for so much."
NOT_WEIGHED = "Weigh the car first."


@dataclass(frozen=True, slots=True)
class PieceAt:
    """A piece and the name of the place it would be at; none where nobody noted it."""

    piece: BallastPiece
    place: str


@dataclass(frozen=True, slots=True)
class BallastOnCar:
    """The pieces on the car, those on the shelf, and the mounts of the chassis."""

    fitted: list[BallastPiece]
    shelf: list[BallastPiece]
    mounts: list[BallastMount]


@dataclass(frozen=True, slots=True)
class MovedBallast:
    """Figures by box; the piece with where it goes, none where it comes off; all pieces as they
    would be, None where they stay where they are."""

    moved: Mapping[Key, Expected] = field(default_factory=dict)
    missing: str = ""
    piece: PieceAt | None = None
    pieces: Sequence[PieceAt] | None = None


def ballast_on(car: Car) -> BallastOnCar:
    """The team's pieces on this car and on the shelf. Two queries."""
    rows = BallastPiece.objects.in_use().filter(team=car.team_id).select_related("mount")
    pieces = list(rows.filter(Q(car=None) | Q(car=car)))
    return BallastOnCar(
        [piece for piece in pieces if piece.car_id],
        [piece for piece in pieces if not piece.car_id],
        list(BallastMount.objects.filter(chassis=car.chassis_id)),
    )


def predict_ballast(
    chassis: Chassis,
    ballast: BallastOnCar,
    figures: Mapping[Key, Figure],
    *,
    adjuster: str,
    spot: str,
    by: float,
) -> MovedBallast:
    """Loads W + dW, dW = m l(x, y) put on, or m (l(x + d, y) - l(x, y)) moved; heights alike.

    `by` kg put on (minus: taken off) at a mount at this spot, or mm that all the ballast on the car
    is moved forward or left. `l` as in `Response.loads_per_kg`, which is linear in the place.
    """
    if any(Key("weight", corner) not in figures for corner in CORNER_NAMES):
        return MovedBallast(missing=NOT_WEIGHED)
    car = response(chassis)
    if adjuster in {"ballast-forward", "ballast-left"}:
        mass = sum(float(piece.marked_mass) for piece in ballast.fitted)
        if not mass:
            return MovedBallast(missing=NO_PIECE)
        to = (by, 0.0) if adjuster == "ballast-forward" else (0.0, by)
        loads = _apart(car.loads_per_kg(*to), car.loads_per_kg(0.0, 0.0))
        heights = _apart(car.heights_per_kg(*to), car.heights_per_kg(0.0, 0.0))
        return MovedBallast(_figures(figures, mass, loads, heights))
    return _put_on(car, ballast, figures, spot, by)


def _put_on(
    car: Response, ballast: BallastOnCar, figures: Mapping[Key, Figure], spot: str, by: float
) -> MovedBallast:
    piece = _piece_near(ballast.shelf if by > 0 else ballast.fitted, by, spot)
    mass = by if piece is None else (1 if by > 0 else -1) * float(piece.marked_mass)
    if spot not in WAYS:
        total = figures[Key("total-weight", "car")]
        then = Expected(total.value + as_decimal(mass), total.u, total.value)
        return MovedBallast({Key("total-weight", "car"): then}, missing=NOWHERE)
    mount = piece.mount if piece is not None and by < 0 else _mount_at(ballast, spot, mass)
    if mount is None:
        return MovedBallast(missing=FULL if ballast.mounts else NO_MOUNT)
    place = float(mount.x), float(mount.y)
    at, pieces = None, None
    if piece is not None:
        at = PieceAt(piece, mount.name if by > 0 else "")
        pieces = [PieceAt(one, str(one.mount or "")) for one in ballast.fitted if one != piece]
        pieces += [at] if by > 0 else []
    return MovedBallast(
        _figures(figures, mass, car.loads_per_kg(*place), car.heights_per_kg(*place)),
        piece=at,
        pieces=pieces,
    )


def _piece_near(pieces: Sequence[BallastPiece], by: float, spot: str) -> BallastPiece | None:
    """The piece whose marked weight comes nearest, within half of what is asked; one that comes
    off must be at that spot."""
    there = pieces if by > 0 else [piece for piece in pieces if _is_at(piece.mount, spot)]
    near = min(there, key=lambda one: abs(float(one.marked_mass) - abs(by)), default=None)
    if near is None or abs(float(near.marked_mass) - abs(by)) > abs(by) / 2:
        return None
    return near


def _is_at(mount: BallastMount | None, spot: str) -> bool:
    """Whether a mount lies that way; ahead of the rear axle is not the front of a car."""
    return spot not in WAYS or (mount is not None and _across_is_right(mount, spot))


def _across_is_right(mount: BallastMount, spot: str) -> bool:
    across = WAYS[spot][1]
    return not across or float(mount.y) * across > 0


def _mount_at(ballast: BallastOnCar, spot: str, mass: float) -> BallastMount | None:
    """The mount furthest that way with room for the mass."""
    along, across = WAYS[spot]
    held: dict[object, float] = {}
    for piece in ballast.fitted:
        held[piece.mount_id] = held.get(piece.mount_id, 0.0) + float(piece.marked_mass)
    free = [
        mount
        for mount in ballast.mounts
        if _across_is_right(mount, spot)
        and held.get(mount.pk, 0.0) + max(mass, 0.0) <= float(mount.capacity)
    ]
    return max(
        free,
        key=lambda mount: (along * float(mount.x) + across * float(mount.y), mount.name),
        default=None,
    )


def _apart(one: Corners, other: Corners) -> Corners:
    return Corners.of(a - b for a, b in zip(one, other, strict=True))


def _figures(
    figures: Mapping[Key, Figure], mass: float, loads: Corners, heights: Corners
) -> dict[Key, Expected]:
    """Weights, heights and all shares, for `mass` kg times what one does."""
    then: dict[Key, Figure] = {}
    for measure, each in (("weight", loads), ("ride-height", heights)):
        for corner, by in zip(CORNER_NAMES, each, strict=True):
            was = figures.get(Key(measure, corner))
            if was is not None:
                # Read once now and once then: two readings' doubt.
                u = as_decimal(float(was.u) * 2**0.5)
                then[Key(measure, corner)] = Figure(was.value + as_decimal(mass * by), u)
    return {
        key: Expected(figure.value, figure.u, figures[key].value)
        for key, figure in add_derived(then).items()
        if key in figures
    }
