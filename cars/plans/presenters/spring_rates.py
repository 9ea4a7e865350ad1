"""Springs on their tyres as the person looking reads them."""

from dataclasses import dataclass
from decimal import Decimal

from cars.figures.prediction_format import format_predicted
from cars.mechanics.springs import WheelRates
from cars.plans.queries.spring_rates import CarSprings, CornerSpring
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units


@dataclass(frozen=True, slots=True)
class SpringRow:
    """One corner as it stands."""

    corner: str
    spring: str
    source: str
    ratio: str
    tyre: str
    at_wheel: str
    on_tyre: str
    in_roll: str


@dataclass(frozen=True, slots=True)
class RateLine:
    """One rate with the spring that was asked with, and as the corner stands."""

    name: str
    said: str
    now: str


def spring_rows(found: CarSprings, units: Units) -> list[SpringRow]:
    """The four corners."""
    return [_row(each, units) for each in found.corners]


def _row(each: CornerSpring, units: Units) -> SpringRow:
    rates = each.rates
    return SpringRow(
        corner=each.corner,
        spring=format_rate(each.spring_rate, units),
        source=spring_source(each),
        ratio=format_ratio(each.motion_ratio),
        tyre=format_rate(each.tyre_rate, units),
        at_wheel=format_rate(rates.at_wheel, units),
        on_tyre=format_rate(rates.on_tyre, units),
        in_roll=format_rate(rates.in_roll, units),
    )


def spring_source(each: CornerSpring) -> str:
    """Where its rate is from."""
    if each.read_on is not None:
        return str(each.read_on)
    return "the baseline" if each.by_baseline else "the chassis page"


def rate_lines(found: WheelRates, now: CornerSpring | None, units: Units) -> list[RateLine]:
    """What a spring would be, beside what stands there."""
    stands = now.rates if now else None
    lines = [
        ("At the wheel", found.at_wheel, stands.at_wheel if stands else None),
        ("With its tyre", found.on_tyre, stands.on_tyre if stands else None),
    ]
    if stands:
        lines.append(("With its tyre, in roll", found.in_roll, stands.in_roll))
    return [
        RateLine(name, format_rate(rate, units), "" if old is None else format_rate(old, units))
        for name, rate, old in lines
    ]


def format_rate(rate: float, units: Units) -> str:
    """'112.5 lb/in'."""
    return format_predicted(rate, Kind.SPRING_RATE, units)


def format_ratio(ratio: float) -> str:
    """'0.9'."""
    return f"{Decimal(repr(round(ratio, 4))).normalize():f}"
