"""What one more change would make of the car as it stands: figures, and what must be read again."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from fractions import Fraction

from cars.catalogue.adjusters import ADJUSTERS, SPRING_SEAT
from cars.catalogue.keys import Key
from cars.figures.derived import Figure, add_derived
from cars.figures.prediction_format import as_decimal
from cars.mechanics import CORNER_NAMES, BadInput, Corners, MechanicsError
from cars.mechanics.kingpin import BlockChoice
from cars.mechanics.linear_response import Prediction
from cars.mechanics.turning import hand_angle
from cars.models import Part
from cars.plans.queries.block_marks import camber_marks
from cars.runs.queries.car_now import PRESSURE, Expected, boxes_of
from cars.runs.queries.car_to_change import CarToChange, Change
from cars.runs.queries.moved_ballast import PieceAt, predict_ballast
from cars.runs.queries.team_parts import KnownTyre, spring_near
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import unit_of

RODS = (
    "What a turn of it moves hangs on its thread and on where its pins sit, which no page of this "
    "car says."
)
NOT_IN_FIGURES = {
    **dict.fromkeys(
        ("rear-rod-upper", "rear-rod-lower", "front-rod-upper", "front-rod-lower"), RODS
    ),
    "panhard-rod": "What a turn of it moves hangs on its thread, which no page of this car says.",
    "steering-rod": "What a turn of it moves hangs on its thread and on the steering arm, which no "
    "page of this car says.",
    "rear-rod-hole": "Where the holes are stands on no page of this car.",
    "block": "Its marks say nothing before the gauge does.",
    "damper": "No figure of a sheet tells what a click does.",
    "tyre": "Which tyre goes on is not said: roll it out.",
    "ballast-height": "How high the ballast and the car's mass sit stands on no page of this car.",
    "gearing": "Which sprocket is not said.",
    "chain": "No figure of a sheet tells what another chain does.",
    "engine": "Another engine may weigh another amount: weigh the car again.",
}
# What is read there moves by the amount itself: the measure, and at which spot where not its own.
SHIFTED = {
    PRESSURE: ("pressure", ""),
    "lead": ("lead", "car"),
    "side-to-side": ("front-lateral", ""),
    "toe": ("toe", ""),
    "caster": ("caster", ""),
    "camber": ("camber", ""),
    "stagger": ("stagger", ""),
    "wheel-spacer": ("track-width", "axle"),
    "spring": ("spring-rate", ""),
}
KINDS = {
    **dict.fromkeys(("in", "mm"), Kind.LENGTH),
    **{"deg": Kind.ANGLE, "psi": Kind.PRESSURE, "lb": Kind.MASS, "kg": Kind.MASS},
    **dict.fromkeys(("lb/in", "N/mm"), Kind.SPRING_RATE),
}
# Figures that a model predicts, with a doubt of their own; the others move by what is asked.
MODELLED = {
    *("weight", "ride-height", "cross", "left-share", "rear-share", "total-weight"),
}
# What puts something else on the car. Of all other changes it weighs as much as before.
WITH_MASS = {"tyre", "stagger", "spring", "wheel-spacer", "gearing", "engine", "ballast"}
AXLE_OF = {"LF": "front", "RF": "front", "LR": "rear", "RR": "rear"}


@dataclass(frozen=True, slots=True)
class WheelsHeld:
    """Degrees that are left to steer at the front wheels in the corner, before and after."""

    was: float
    then: float


@dataclass(frozen=True, slots=True)
class PredictedChange:
    """`moved` by box; `again` the measures that a change touches and that only reading tells.

    `missing`: why there is not more, in words. `refused`: why the car cannot be turned so. Of what
    the team has: the `spring` or `tyre` that comes nearest, the `piece` of ballast with where it
    goes and all `pieces` as they would be, the block `marks` nearest to the camber.
    """

    moved: Mapping[Key, Expected] = field(default_factory=dict)
    again: tuple[str, ...] = ()
    missing: str = ""
    refused: str = ""
    wheels: WheelsHeld | None = None
    spring: Part | None = None
    tyre: KnownTyre | None = None
    piece: PieceAt | None = None
    pieces: Sequence[PieceAt] | None = None
    marks: BlockChoice | None = None


def predict_change(car: CarToChange, change: Change) -> PredictedChange:
    """What this change would make of the car."""
    ask = _ASKED.get(change.adjuster, _shifted)
    predicted = ask(car, change)
    told = {key.measure for key in predicted.moved}
    if change.adjuster not in WITH_MASS:
        told.add("total-weight")
    again = tuple(measure for measure in car.touched(change) if measure not in told)
    return replace(predicted, again=again)


def shift_of(change: Change) -> Decimal | None:
    """The amount in canonical units; None where it is counted and no quantity."""
    kind = KINDS.get(change.unit)
    if kind is None:
        return None
    return unit_of(kind, change.unit).to_canonical(Fraction(change.amount))


def _turned(car: CarToChange, change: Change) -> PredictedChange:
    seats, missing = car.seats
    if not seats:
        return PredictedChange(missing=missing)
    moved: dict[Key, Expected] = {}
    refused = ""
    for measure, each in seats.items():
        try:
            what = each.linear.predict(_sum(each.turns, _turns_of(change)))
        except BadInput as problem:
            return PredictedChange(refused=str(problem))
        boxes = boxes_of(measure, what)
        moved |= {key: replace(box, was=_was(car, key, box)) for key, box in boxes.items()}
        refused = refused or _impossible(what, measure, change)
    return PredictedChange(moved, missing=missing, refused=refused)


def _turns_of(change: Change) -> Corners:
    return Corners.of(
        float(change.amount) if corner == change.spot else 0.0 for corner in CORNER_NAMES
    )


def _was(car: CarToChange, key: Key, box: Expected) -> Decimal:
    figure = car.figures.get(key)
    return box.was if figure is None else figure.value


def _impossible(what: Prediction, measure: str, change: Change) -> str:
    """Why no car can be turned so: a wheel off its pad, or no thread left at the seat."""
    if measure == "weight" and what.lifted:
        return f"{' and '.join(what.lifted)} would come off the ground."
    if change.spot in what.beyond:
        return f"The seat at {change.spot} has not that much thread left."
    return ""


def _sum(one: Corners, other: Corners) -> Corners:
    return Corners.of(a + b for a, b in zip(one, other, strict=True))


def _shifted(car: CarToChange, change: Change) -> PredictedChange:
    """What is read at a box moves by the amount itself; computed figures follow."""
    by, shifts = shift_of(change), SHIFTED.get(change.adjuster)
    if by is None or shifts is None:
        return PredictedChange(missing=NOT_IN_FIGURES.get(change.adjuster, ""))
    measure, spot = shifts
    at = AXLE_OF[change.spot] if spot == "axle" else spot or change.spot
    return shifted_at(car, Key(measure, at), by)


def shifted_at(car: CarToChange, key: Key, by: Decimal) -> PredictedChange:
    """One box moved by so much, or why it is not known."""
    figure = car.figures.get(key)
    if figure is None:
        name = car.now.table.on_sheet.known.measures[key.measure].name.lower()
        where = "" if key.spot == "car" else f", {key.spot}"
        return PredictedChange(missing=f"The {name}{where} is not known now: take it first.")
    return PredictedChange({key: Expected(figure.value + by, figure.u, figure.value)})


def _lead(car: CarToChange, change: Change) -> PredictedChange:
    """Lead, and what it leaves to steer in the track's corner."""
    predicted = _shifted(car, change)
    lead, (chassis, trouble) = (
        predicted.moved.get(Key("lead", "car")),
        car.now.table.on_sheet.chassis,
    )
    if lead is None:
        return predicted
    if chassis is None:
        return replace(predicted, missing=trouble)
    if car.corner is None:
        return replace(predicted, missing="The radius of this track's corner is not known.")
    try:
        was, then = (
            hand_angle(chassis, car.corner, float(value), 1.0) for value in (lead.was, lead.value)
        )
    except MechanicsError as problem:
        return replace(predicted, missing=str(problem))
    return replace(predicted, wheels=WheelsHeld(was, then))


def _camber(car: CarToChange, change: Change) -> PredictedChange:
    """Camber, and the block marks of this car that come nearest."""
    predicted = _shifted(car, change)
    wanted = predicted.moved.get(Key("camber", change.spot))
    if wanted is None:
        return predicted
    found = camber_marks(car.block_pairs, change.spot, float(wanted.value))
    if isinstance(found, str):
        return replace(predicted, missing=found)
    return replace(predicted, marks=found)


def _spring(car: CarToChange, change: Change) -> PredictedChange:
    """The spring's rate, or that of the nearest spring that the team has."""
    by, key = shift_of(change), Key("spring-rate", change.spot)
    was = car.figures.get(key)
    stated = car.now.table.on_sheet.geometry.get("spring_rate")
    if was is None and stated:
        was = Figure(as_decimal(float(stated[CORNER_NAMES.index(change.spot)])))
    if by is None or was is None:
        return PredictedChange(missing=f"The rate of the spring at {change.spot} is not known.")
    owned = spring_near(car.springs, was.value, by)
    value = owned.rate if owned is not None and owned.rate is not None else was.value + by
    missing = "A spring of another length moves heights and cross: set them again."
    if value <= 0:
        return PredictedChange(missing="No spring is that soft.")
    return PredictedChange({key: Expected(value, was.u, was.value)}, missing=missing, spring=owned)


def _stagger(car: CarToChange, change: Change) -> PredictedChange:
    """Stagger as asked for, or as the team's own tyre that comes nearest makes it."""
    predicted = _shifted(car, change)
    key = Key("stagger", change.spot)
    wanted = predicted.moved.get(key)
    if wanted is None:
        return predicted
    tyre = _tyre_for(car, change.spot, wanted)
    if tyre is None:
        return predicted
    box, standing = Key("circumference", tyre.spot), car.figures
    was = standing[box]
    rolled = Figure(tyre.roll_out, tyre.u)
    then = add_derived({**_read(standing, "circumference"), box: rolled})[key]
    return replace(
        predicted,
        moved={
            key: Expected(then.value, then.u, wanted.was),
            box: Expected(rolled.value, rolled.u, was.value),
        },
        tyre=tyre,
    )


def _read(figures: Mapping[Key, Figure], measure: str) -> dict[Key, Figure]:
    return {key: figure for key, figure in figures.items() if key.measure == measure}


def _tyre_for(car: CarToChange, axle: str, wanted: Expected) -> KnownTyre | None:
    """The tyre, and at which side, that brings the stagger nearest, and nearer than half way."""
    left, right = ("LF", "RF") if axle == "front" else ("LR", "RR")
    read = {spot: car.figures.get(Key("circumference", spot)) for spot in (left, right)}
    if read[left] is None or read[right] is None:
        return None
    choices: list[tuple[Decimal, KnownTyre]] = []
    for tyre in car.tyres:
        for spot, other, sign in ((right, read[left], 1), (left, read[right], -1)):
            assert other is not None  # noqa: S101 (both are read)
            made = sign * (tyre.roll_out - other.value)
            choices.append((abs(made - wanted.value), replace(tyre, spot=spot)))
    near = min(choices, key=lambda choice: choice[0], default=None)
    if near is None or near[0] > abs(wanted.value - wanted.was) / 2:
        return None
    return near[1]


def _ballast(car: CarToChange, change: Change) -> PredictedChange:
    """Ballast put on, taken off or moved along or across the car: weights, shares and heights."""
    seats, missing = car.seats
    by = shift_of(change)
    if by is None or "weight" not in seats:
        return PredictedChange(missing=missing)
    calibrated = car.now.table.calibrated
    assert calibrated is not None  # noqa: S101 (there are no seats without it)
    told = predict_ballast(
        calibrated.chassis,
        car.ballast,
        car.figures,
        adjuster=change.adjuster,
        spot=change.spot,
        by=float(by),
    )
    return PredictedChange(told.moved, missing=told.missing, piece=told.piece, pieces=told.pieces)


_ASKED: dict[str, Callable[[CarToChange, Change], PredictedChange]] = {
    SPRING_SEAT: _turned,
    "lead": _lead,
    "camber": _camber,
    "spring": _spring,
    "stagger": _stagger,
    **dict.fromkeys(("ballast", "ballast-forward", "ballast-left"), _ballast),
}


def is_known(adjuster: str) -> bool:
    """Whether something here says what a change of this is: a figure, or why there is none."""
    return adjuster in {*_ASKED, *SHIFTED, *NOT_IN_FIGURES} and adjuster in ADJUSTERS
