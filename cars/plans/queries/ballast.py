"""What to add: which of the team's own pieces at which mounts, for the weighing that decides."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Q

from cars.catalogue.keys import Key
from cars.mechanics.ballast import plan_ballast
from cars.mechanics.ballastplan import (
    BallastOutOfReach,
    BallastPlan,
    Mount,
    Piece,
    ShareTargets,
)
from cars.mechanics.chassis import Point
from cars.mechanics.fuel import Fuel, fuel_mass
from cars.mechanics.goals import Goal
from cars.models import BallastMount, BallastPiece, Change, Sheet
from cars.plans.queries.class_limits import ClassLimit
from cars.plans.queries.fingerprint import fingerprint_of
from cars.plans.queries.marked_ballast import marked_elsewhere, marked_elsewhere_message
from cars.plans.queries.plan_outcomes import noise_of
from cars.plans.queries.sheet_figures import SheetFigures
from clubsetup.access.errors import Invalid
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityError, parse

PERCENT = 100.0
PADS = 4
FIRST = "Weigh the car on all four pads first, driver seated."


@dataclass(frozen=True, slots=True)
class Weighing:
    """What the car must weigh, and what will be different then. kg, litres, mm."""

    minimum: float
    margin: float
    fuel_now: float
    fuel_then: float
    fuel: Fuel = "gasoline"
    tank: Point | None = None
    driver: float = 0.0  # heavier (or lighter) at the weighing than on the scales now
    between: float | None = None  # standard uncertainty of what lies between; None: as the pads


def weighing_of(  # noqa: PLR0917 (what a form or a caller says)
    minimum: float,
    margin: float,
    fuel_now: float,
    fuel_then: float | None,
    tank_x: float | None,
    tank_y: float | None,
    *,
    fuel: Fuel = "gasoline",
    driver: float = 0.0,
    between: float | None = None,
) -> Weighing:
    """The weighing that somebody describes; fuel they say nothing of then is as it is now.

    Raises Invalid where fuel comes or goes and nobody says where the tank is, and for less than
    nothing between the scales.
    """
    if between is not None and between < 0:
        raise Invalid("between", "Write zero or more.")
    then = fuel_now if fuel_then is None else fuel_then
    if then != fuel_now and tank_x is None:
        raise Invalid("tank_x", "Say where the tank is: its weight will be gone from there.")
    tank = None if tank_x is None else (tank_x, tank_y or 0.0)
    return Weighing(minimum, margin, fuel_now, then, fuel, tank, driver, between)


@dataclass(frozen=True, slots=True)
class Stock:
    """The pieces a plan may use, by the name the plan knows them by, and the mounts.

    Besides: pieces on the car at no mount that anybody noted, those above the class's largest, and
    those on other cars. `marked_elsewhere` are to be fitted and are marked for another car.
    """

    pieces: dict[str, BallastPiece]
    mounts: dict[str, BallastMount]
    placeless: list[BallastPiece]
    too_large: list[BallastPiece]
    elsewhere: list[BallastPiece]
    marked_elsewhere: dict[UUID, str]

    def piece(self, name: str) -> UUID:
        return self.pieces[name].pk

    def mount(self, name: str | None) -> UUID | None:
        return None if name is None else self.mounts[name].pk


@dataclass(frozen=True, slots=True)
class Added:
    """The plans, best first; ``short`` is by how many kg the first falls short of what it must."""

    plans: Sequence[BallastPlan]
    short: float = 0.0


def stock_of(
    on_sheet: SheetFigures, limit: ClassLimit | None = None, without: Collection[UUID] = ()
) -> Stock:
    """The team's pieces on the shelf and on this car, and the mounts of its chassis.

    `without` these, which somebody leaves out.

    A piece on the car at no mount anybody noted is weighed with it, and left alone. One on the
    shelf that is above the class's largest is no help. Of equal pieces a plan takes the first: so
    those come first that bear this car's number.
    """
    car = on_sheet.sheet.car
    largest = limit.largest_piece if limit else None
    every = BallastPiece.objects.in_use().filter(team_id=car.team_id)
    rows = every.filter(Q(car__isnull=True) | Q(car=car)).exclude(pk__in=without)
    pieces: dict[str, BallastPiece] = {}
    placeless, too_large = [], []
    own_first = sorted(
        rows.select_related("mount"), key=lambda row: car.number not in row.label.split()
    )
    for row in own_first:
        if largest is not None and row.marked_mass > largest:
            too_large.append(row)
            if row.car_id is None:
                continue
        if row.car_id is not None and row.mount_id is None:
            placeless.append(row)
        else:
            pieces[_free(str(row), pieces)] = row
    mounts = {row.name: row for row in BallastMount.objects.filter(chassis_id=car.chassis_id)}
    elsewhere = list(every.exclude(car=None).exclude(car=car).select_related("car"))
    asked = {
        row.pk: marked_elsewhere_message(row, car) for row in marked_elsewhere(pieces.values(), car)
    }
    return Stock(pieces, mounts, placeless, too_large, elsewhere, asked)


def _free(name: str, taken: dict[str, BallastPiece]) -> str:
    """The name, or the name with a number where pieces are marked alike."""
    number, free = 1, name
    while free in taken:
        number += 1
        free = f"{name} (no. {number})"
    return free


def lacking(on_sheet: SheetFigures, stock: Stock) -> list[str]:
    """What is missing for a plan, in words."""
    reasons = []
    if on_sheet.corners("weight") is None:
        taken = any(key.measure == "weight" for key in on_sheet.figures)
        reasons.append(on_sheet.lacking("weight") if taken else FIRST)
    chassis, trouble = on_sheet.chassis
    if chassis is None:
        reasons.append(trouble)
    if not stock.mounts:
        reasons.append(
            f"No mount is known on the {on_sheet.sheet.car.chassis}; a steward can add it."
        )
    if not stock.pieces:
        reasons.append("The team has no ballast piece on the shelf or at a mount of this car.")
    return reasons


def ballast_plans(on_sheet: SheetFigures, stock: Stock, weighing: Weighing) -> Added:
    """Which pieces go where; see `plan_ballast`. Raises MechanicsError for figures no car has.

    The driver who comes heavier is taken off the minimum: it tells the weight, not the shares.
    """
    loads, (chassis, trouble) = on_sheet.corners("weight"), on_sheet.chassis
    if loads is None or chassis is None:
        raise ValueError(trouble or FIRST)
    (now, u_now), (then, u_then) = (
        fuel_mass(litres, weighing.fuel) for litres in (weighing.fuel_now, weighing.fuel_then)
    )
    pad = noise_of(on_sheet.weighed).pad
    try:
        plans = plan_ballast(
            loads,
            chassis,
            [_piece(name, row) for name, row in stock.pieces.items()],
            [_mount(row) for row in stock.mounts.values()],
            minimum=weighing.minimum - weighing.driver,
            margin=weighing.margin,
            fuel_now=now,
            fuel_at_weighing=then,
            targets=_targets(on_sheet),
            u=pad,
            tank=weighing.tank,
            u_fuel=abs(u_then - u_now),
            u_scale=pad * PADS**0.5 if weighing.between is None else weighing.between,
            seconds=2.0,
        )
    except BallastOutOfReach as short:
        return Added([short.nearest], short.short)
    return Added(plans)


def _piece(name: str, row: BallastPiece) -> Piece:
    fitted = row.mount.name if row.mount else None
    return Piece(name, float(row.marked_mass), _u(row), fitted)


def _u(row: BallastPiece) -> float:
    """Of the mark: what its writing resolves."""
    try:
        return float(parse(row.marked_mass_typed, Kind.MASS).u)
    except QuantityError:
        return 0.0


def _mount(row: BallastMount) -> Mount:
    return Mount(row.name, float(row.x), float(row.y), float(row.capacity))


def _targets(on_sheet: SheetFigures) -> ShareTargets | None:
    def goal(measure: str) -> Goal | None:
        wanted = on_sheet.targets.goals.get(Key(measure, "car"))
        return wanted and Goal(wanted.value / PERCENT, wanted.tolerance / PERCENT)

    targets = ShareTargets(goal("left-share"), goal("rear-share"), goal("cross"))
    return targets if any((targets.left, targets.rear, targets.cross)) else None


def ballast_seen(sheet: Sheet) -> str:
    """The fingerprint of where the team's pieces are."""
    rows = BallastPiece.objects.in_use().filter(team_id=sheet.team_id)
    return fingerprint_of(sorted(rows.values_list("pk", "car_id", "mount_id"), key=str))


def last_fitted(sheet: Sheet) -> list[Change]:
    """The changes of the ballast accepted last on a sheet, that were not taken back."""
    rows = Change.objects.current().filter(sheet=sheet, piece__isnull=False)
    newest = rows.order_by("made_at").last()
    joined = ("piece__team", "was_at", "now_at")
    return list(rows.filter(made_at=newest.made_at).select_related(*joined)) if newest else []
