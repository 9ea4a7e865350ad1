"""The days, runs and changes that are drawn, and the weekends between which they lie."""

from dataclasses import dataclass, field
from decimal import Decimal

from events.demo.truth import TrueCar, TrueEffect

FORTNIGHT = 14


@dataclass(slots=True)
class Turned:
    """Something turned or swapped before a run of the day, or after its last one: before the next.

    `seconds`: what it truly does to a lap.
    """

    before: int
    adjuster: str
    spot: str
    amount: Decimal
    unit: str
    seconds: float = 0.0
    puts_back: int | None = None
    number: int = 0  # of its weekend

    @property
    def place(self) -> tuple[str, str]:
        """What is changed, and where."""
        return self.adjuster, self.spot


@dataclass(slots=True)
class DemoRun:
    """A run as it went, and what is said of it."""

    order: int
    kind: str
    seconds: list[float]
    finish: int | None = None
    group: str = "A"  # of the day's trial: A without the change, B with it
    said: dict[str, str] = field(default_factory=dict)
    saw: dict[str, str] = field(default_factory=dict)
    damage: str = ""
    spots: tuple[str, ...] = ()
    note: str = ""


@dataclass(slots=True)
class DemoDay:
    """A day at the track: so many days ago, on the sheet as set after so many weekends."""

    ago: int
    weekend: int
    surface: str
    by_crew: bool
    temperature: float
    humidity: int
    state: str
    is_race: bool = False
    by_hand: bool = False
    trial: TrueEffect | None = None
    runs: list[DemoRun] = field(default_factory=list)
    turned: list[Turned] = field(default_factory=list)
    # The run before which it was weighed again, after a hit.
    weighed_before: int | None = None


@dataclass(frozen=True, slots=True)
class Weekend:
    """When the car was found and set, where it had raced and where it goes next."""

    ago: int
    raced_on: str
    goes_to: str


def surface_of(place: int) -> str:
    """Every third weekend of a season is on dirt."""
    return "dirt" if place % 3 == 2 else "paved"


def calendar(car: TrueCar) -> list[Weekend]:
    """The weekends of a car's seasons, the oldest first."""
    found = []
    for season in car.seasons:
        for place in range(season.weekends):
            ago = season.last_weekend + FORTNIGHT * (season.weekends - 1 - place)
            last = place == season.weekends - 1
            found.append(
                Weekend(ago, surface_of(place), "paved" if last else surface_of(place + 1))
            )
    return found
