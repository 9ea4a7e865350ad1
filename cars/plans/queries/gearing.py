"""Gearing: ratio, speed, engine speed and chain of one pair of sprockets, and of those next to it.

Lengths mm, speeds m/s, engine speeds in turns a minute.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue
from cars.mechanics import OutOfReach
from cars.mechanics.gearing import (
    centre_distance,
    chain_length,
    engine_speed,
    gear_ratio,
    ground_speed,
    touching_distance,
    whole_chain,
)
from cars.models import Car, Sheet
from cars.plans.queries.newest_figures import NewestFigures, newest_figures
from clubsetup.quantities.reading import Typed

TEETH = ("teeth-driving", "teeth-driven")
ROLL_OUT = "circumference"
REAR = ("LR", "RR")
# What can be counted, as in the catalogue; common practice, no source.
FEWEST_DRIVING, MOST_DRIVING = 5, 60
FEWEST_DRIVEN, MOST_DRIVEN = 10, 150
SLOWEST, FASTEST = 500, 20_000
NEIGHBOURS = 2  # teeth more and fewer


@dataclass(frozen=True, slots=True)
class CarGearing:
    """What the car's sheets say: each from the newest that says it, None where none does."""

    driving: int | None
    driven: int | None
    teeth_on: Sheet | None
    rolled: dict[str, float]  # rear tyres by corner
    rolled_on: Sheet | None
    roll_again: bool  # it was read, and something was changed since

    @property
    def roll_out(self) -> float | None:
        """The mean of both rear tyres, which is what the middle of a solid axle rolls on."""
        return sum(self.rolled.values()) / len(self.rolled) if self.rolled else None


def car_gearing(car: Car, known: Catalogue) -> CarGearing:
    """Teeth and rear roll-outs as read last. Six queries at most."""
    teeth = newest_figures(car, TEETH, known)
    tyres = newest_figures(car, [ROLL_OUT], known)
    rolled = {
        corner: value
        for corner in REAR
        if tyres is not None and (value := tyres.value(ROLL_OUT, corner)) is not None
    }
    return CarGearing(
        driving=_count(teeth, TEETH[0]),
        driven=_count(teeth, TEETH[1]),
        teeth_on=teeth.sheet if teeth else None,
        rolled=rolled,
        rolled_on=tyres.sheet if tyres else None,
        roll_again=bool(tyres and {Key(ROLL_OUT, corner) for corner in REAR} & set(tyres.again)),
    )


def _count(newest: NewestFigures | None, measure: str) -> int | None:
    value = newest.value(measure, "car") if newest else None
    return None if value is None else round(value)


@dataclass(frozen=True, slots=True, kw_only=True)
class GearingAsked:
    """What somebody asks with; only the sprockets of the axle's chain are needed."""

    driving: int
    driven: int
    first_driving: int | None = None
    first_driven: int | None = None
    roll_out: float | None = None
    engine_speed: float | None = None
    speed: float | None = None
    centre_distance: Typed | None = None
    pitch: Typed | None = None


def gearing_asked(given: Mapping[str, Any]) -> GearingAsked:
    """What a form or an address asks: teeth as counted, quantities as typed."""
    rpm, roll_out, speed = (given[name] for name in ("engine_speed", "roll_out", "speed"))
    counted = ("driving", "driven", "first_driving", "first_driven", "centre_distance", "pitch")
    return GearingAsked(
        **{name: given[name] for name in counted},
        engine_speed=None if rpm is None else float(rpm),
        roll_out=float(roll_out.value) if roll_out else None,
        speed=float(speed.value) if speed else None,
    )


class NoGearing(Exception):
    """What is asked has no answer; `field` is what is missing or cannot be."""

    def __init__(self, field: str) -> None:
        super().__init__(field)
        self.field = field


class SprocketsTouch(NoGearing):
    """The shafts must be further apart than `least`, mm; the distance was typed in `unit`."""

    def __init__(self, driving: int, driven: int, least: float, unit: str) -> None:
        super().__init__("centre_distance")
        self.driving, self.driven, self.least, self.unit = driving, driven, least, unit


def asked_of_car(given: Mapping[str, Any], car: CarGearing) -> GearingAsked:
    """The same, with what the car's sheets say where it is left out. Raises NoGearing for teeth."""
    completed = dict(given)
    for name, read in (("driving", car.driving), ("driven", car.driven)):
        if completed[name] is None and read is None:
            raise NoGearing(name)
        completed[name] = read if completed[name] is None else completed[name]
    asked = gearing_asked(completed)
    return replace(asked, roll_out=car.roll_out) if asked.roll_out is None else asked


@dataclass(frozen=True, slots=True)
class ChainFigures:
    """The axle's chain: links not rounded, the whole chain, and the centre distance it wants."""

    links: float
    whole: int
    centre_distance: float


@dataclass(frozen=True, slots=True)
class SprocketLine:
    """One sprocket on the axle; at the ground speed that is compared, where there is one."""

    driven: int
    ratio: float
    engine_speed: float | None
    whole_chain: int | None


@dataclass(frozen=True, slots=True)
class GearingFigures:
    """The answer; None is what was not asked, or cannot be said without what was left empty."""

    ratio: float
    ground_speed: float | None  # at the engine speed asked with
    engine_speed: float | None  # at the speed asked with
    chain: ChainFigures | None
    compared_at: float | None  # ground speed of `neighbours`
    neighbours: list[SprocketLine]


def gearing_figures(asked: GearingAsked) -> GearingFigures:
    """Everything that follows from what was asked.

    No slip and no growth of the tyres; see `cars.mechanics.gearing`. Raises NoGearing.
    """
    _refuse_halves(asked)
    ratio = _ratio(asked, asked.driven)
    rolls, reached = asked.roll_out, None
    if rolls is not None and asked.engine_speed is not None:
        reached = ground_speed(asked.engine_speed, ratio, rolls)
    compared = reached if asked.speed is None else asked.speed
    return GearingFigures(
        ratio=ratio,
        ground_speed=reached,
        engine_speed=_turns_at(asked.speed, ratio, rolls),
        chain=_chain(asked),
        compared_at=compared,
        neighbours=[_line(asked, driven, compared, rolls) for driven in _neighbours(asked.driven)],
    )


def _refuse_halves(asked: GearingAsked) -> None:
    """Raises NoGearing with what lacks its other half."""
    if (asked.first_driving is None) != (asked.first_driven is None):
        raise NoGearing("first_driving" if asked.first_driving is None else "first_driven")
    if asked.roll_out is None and (asked.engine_speed is not None or asked.speed is not None):
        raise NoGearing("roll_out")
    if asked.centre_distance is not None and asked.pitch is None:
        raise NoGearing("pitch")
    if asked.pitch is not None and asked.centre_distance is None:
        raise NoGearing("centre_distance")


def _ratio(asked: GearingAsked, driven: int) -> float:
    stages = [(asked.driving, driven)]
    if asked.first_driving is not None and asked.first_driven is not None:
        stages.insert(0, (asked.first_driving, asked.first_driven))
    return gear_ratio(*stages)


def _turns_at(speed: float | None, ratio: float, rolls: float | None) -> float | None:
    return None if speed is None or rolls is None else engine_speed(speed, ratio, rolls)


def _neighbours(driven: int) -> range:
    return range(max(FEWEST_DRIVEN, driven - NEIGHBOURS), min(MOST_DRIVEN, driven + NEIGHBOURS) + 1)


def _line(
    asked: GearingAsked, driven: int, speed: float | None, rolls: float | None
) -> SprocketLine:
    ratio = _ratio(asked, driven)
    return SprocketLine(driven, ratio, _turns_at(speed, ratio, rolls), _whole(asked, driven))


def _pitches(asked: GearingAsked) -> float | None:
    if asked.centre_distance is None or asked.pitch is None:
        return None
    return float(asked.centre_distance.value / asked.pitch.value)


def _whole(asked: GearingAsked, driven: int) -> int | None:
    apart = _pitches(asked)
    if apart is None:
        return None
    try:
        return whole_chain(chain_length(asked.driving, driven, apart))
    except OutOfReach:
        return None


def _chain(asked: GearingAsked) -> ChainFigures | None:
    apart, centre, pitch = _pitches(asked), asked.centre_distance, asked.pitch
    if apart is None or centre is None or pitch is None:
        return None
    try:
        links = chain_length(asked.driving, asked.driven, apart)
    except OutOfReach:
        least = touching_distance(asked.driving, asked.driven) * float(pitch.value)
        raise SprocketsTouch(asked.driving, asked.driven, least, centre.unit) from None
    whole = whole_chain(links)
    distance = centre_distance(asked.driving, asked.driven, whole) * float(pitch.value)
    return ChainFigures(links, whole, distance)
