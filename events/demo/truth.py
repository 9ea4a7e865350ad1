"""What is true in the demo's seasons, as fixtures/demo/runs.json has it; the pages never see it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

Ends = tuple[float, float]  # drawn evenly between the two


@dataclass(frozen=True, slots=True)
class TrueEffect:
    """What one change does to a car that feels so there, s a lap; below zero is faster."""

    surface: str
    felt: str
    where: str
    adjuster: str
    spot: str
    amount: Decimal
    unit: str
    seconds: float
    advised: bool  # what the trade's common practice would say

    @property
    def place(self) -> tuple[str, str]:
        """What is changed, and where."""
        return self.adjuster, self.spot

    @property
    def name(self) -> str:
        """'paved, pushes middle: spring-seat RF -0.5 turn'."""
        change = f"{self.adjuster} {self.spot} {self.amount:+} {self.unit}"
        return f"{self.surface}, {self.felt} {self.where}: {change}"


@dataclass(frozen=True, slots=True)
class TrueDriver:
    """How one driver drives this car: s, but for counts and shares."""

    gains: float
    gains_in_days: float
    day_spread: float
    run_scatter: float
    lap_scatter: float
    lag_1: float
    slow_share: float


@dataclass(frozen=True, slots=True)
class DrivenSeason:
    """Weekends a fortnight apart, the last so many days ago; days at the track after each."""

    last_weekend: int
    weekends: int
    days: int
    runs: tuple[int, int]
    laps: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Tonight:
    """What is tried today: 'ABAB', A without the change."""

    groups: str
    effect: TrueEffect


@dataclass(frozen=True, slots=True)
class TrueCar:
    """One car with its driver, its seasons, and what changes do to it."""

    number: str
    driver: TrueDriver
    laps_take: Mapping[str, float]
    seasons: tuple[DrivenSeason, ...]
    happened: Mapping[int, Mapping[str, Any]]  # by weekend
    tonight: Tonight | None
    effects: tuple[TrueEffect, ...]


@dataclass(frozen=True, slots=True)
class Truth:
    """All of it, and how anybody's day goes."""

    driving: Mapping[str, Any]
    cars: Mapping[str, TrueCar]
    parts: Mapping[str, Any] = field(default_factory=dict)  # which car, what is on it, from when

    def ends(self, name: str) -> Ends:
        """A pair to draw from."""
        low, high = self.driving[name]
        return low, high

    def share(self, name: str) -> float:
        """How often something happens."""
        return float(self.driving["shares"][name])


def truth_of(given: Mapping[str, Any]) -> Truth:
    """The fixture, read."""
    cars = {number: _car(number, car) for number, car in given["cars"].items()}
    return Truth(given["driving"], cars, given["parts"])


def _car(number: str, given: Mapping[str, Any]) -> TrueCar:
    effects = tuple(
        TrueEffect(**{**effect, "amount": Decimal(effect["amount"])}) for effect in given["effects"]
    )
    return TrueCar(
        number=number,
        driver=TrueDriver(**given["driver"]),
        laps_take=given["laps_take"],
        seasons=tuple(_season(season) for season in given["seasons"]),
        happened={happened["weekend"]: happened for happened in given["happened"]},
        tonight=_tonight(given["tonight"], effects),
        effects=effects,
    )


def _season(given: Mapping[str, Any]) -> DrivenSeason:
    pairs = {name: (given[name][0], given[name][1]) for name in ("runs", "laps")}
    return DrivenSeason(**{**given, **pairs})


def _tonight(given: Mapping[str, Any] | None, effects: tuple[TrueEffect, ...]) -> Tonight | None:
    if given is None:
        return None
    wanted = {name: given[name] for name in ("felt", "where", "adjuster", "spot")}
    (effect,) = (
        each
        for each in effects
        if each.surface == "paved"
        and all(getattr(each, name) == value for name, value in wanted.items())
    )
    return Tonight(given["groups"], effect)
