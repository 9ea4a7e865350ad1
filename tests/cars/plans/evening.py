"""An evening at the scales with a car whose true rates are not those of its chassis page."""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from cars.catalogue.keys import Key
from cars.figures.box_entries import read_entry
from cars.figures.geometry import mechanics_of
from cars.mechanics import CORNER_NAMES, Corners, Multipliers, response
from cars.mechanics.sensitivity import multiplied
from cars.models import Measure, Reading, Sheet
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.readings import take_readings, take_typed
from cars.sheets.actions.sheets import open_sheet
from clubsetup.access.models import User
from clubsetup.quantities.units import Units
from tests.cars.garage import GEOMETRY, Garage

POUND, INCH = 0.45359237, 25.4
# Front springs 6 % stiffer and rear ones 8 % softer than the page says.
TRUE = Multipliers(1.06, 0.92, 1.05, 1.0)
STARTED = Corners(34.0, 31.0, 42.0, 33.0), Corners(58.7, 59.5, 58.4, 62.0)


def pounds(kg: float) -> str:
    """As read off a pad with half-pound steps."""
    return f"{round(kg / POUND * 2) / 2:g}"


def inches(mm: float) -> str:
    """As read off a tape with sixteenths."""
    whole, sixteenths = divmod(round(mm / INCH * 16), 16)
    return f"{whole} {sixteenths}/16"


@dataclass
class Evening:
    """The true car, which moves as its own springs say, and its open sheet."""

    garage: Garage
    by: User
    sheet: Sheet
    loads: Corners = STARTED[0]
    heights: Corners = STARTED[1]
    true: Multipliers = TRUE
    measures: dict[str, Measure] = field(default_factory=Measure.objects.in_bulk)

    def turn(self, turns: Corners) -> None:
        """The seats are turned; what the car does is its own affair."""
        chassis = mechanics_of(GEOMETRY)
        assert chassis is not None
        car = response(multiplied(chassis, self.true))
        self.loads = Corners.of(
            before + sum(float(row) * t for row, t in zip(rows, turns, strict=True))
            for before, rows in zip(self.loads, car.loads_per_turn, strict=True)
        )
        self.heights = Corners.of(
            before + sum(float(row) * t for row, t in zip(rows, turns, strict=True))
            for before, rows in zip(self.heights, car.heights_per_turn, strict=True)
        )

    def typed(self, *, heights: bool = True) -> dict[str, str]:
        """What the pads and the tape say now."""
        typed = {f"weight.{c}": pounds(kg) for c, kg in zip(CORNER_NAMES, self.loads, strict=True)}
        if heights:
            typed |= {
                f"ride-height.{c}": inches(mm)
                for c, mm in zip(CORNER_NAMES, self.heights, strict=True)
            }
        return typed

    def weigh(self, *, heights: bool = True) -> list[Reading]:
        """Reads everything anew, whether or not it says the same as before."""
        entries = [
            read_entry(self.measures[key.measure], key, text, Units.imperial())
            for name, text in self.typed(heights=heights).items()
            for key in [Key.of(name)]
        ]
        return take_readings(
            by=self.by, sheet=self.sheet, entries=entries, anew=True, seen=OVER_ANYTHING
        )

    def take(self, typed: dict[str, str]) -> list[Reading]:
        """Readings as typed."""
        return take_typed(by=self.by, sheet=self.sheet, typed=typed)


def make_evening(garage: Garage, by: User, *, read: bool = True, role: str = "set") -> Evening:
    """An open sheet of the car, weighed and measured as it came."""
    sheet = open_sheet(by=by, car=garage.car, role=role, made_on=date(2026, 3, 14), surface="paved")
    evening = Evening(garage, by, sheet)
    if read:
        evening.weigh()
    return evening


def quarter(*turns: str) -> list[Decimal]:
    """Four turns as an action takes them."""
    return [Decimal(turn) for turn in turns]
