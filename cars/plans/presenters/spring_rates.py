"""Springs on their tyres as the person looking reads them."""

from dataclasses import dataclass

from cars.figures.prediction_format import as_decimal, format_predicted
from cars.mechanics.springs import WheelRates
from cars.plans.queries.spring_rates import CarSprings, CornerSpring
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import unit_of
from clubsetup.quantities.units import Units


@dataclass(frozen=True, slots=True)
class SpringRow:
    """One corner as it stands; the rates without their unit."""

    corner: str
    spring: str
    source: str
    ratio: str
    tyre: str
    wheel_rate: str
    ride_rate: str
    ride_rate_in_roll: str


@dataclass(frozen=True, slots=True)
class RateLine:
    """One rate with the spring that was asked with, and as the corner stands."""

    name: str
    text: str
    now: str


def spring_rows(springs: CarSprings, units: Units) -> list[SpringRow]:
    """The four corners."""
    return [_row(each, units) for each in springs.corners]


def _row(each: CornerSpring, units: Units) -> SpringRow:
    rates = each.rates
    return SpringRow(
        corner=each.corner,
        spring=_bare(each.spring_rate, units),
        source=_source(each),
        ratio=format_ratio(each.motion_ratio),
        tyre=_bare(each.tyre_rate, units),
        wheel_rate=_bare(rates.wheel_rate, units),
        ride_rate=_bare(rates.ride_rate, units),
        ride_rate_in_roll=_bare(rates.ride_rate_in_roll, units),
    )


def _source(each: CornerSpring) -> str:
    if each.read_on is not None:
        return str(each.read_on)
    return "baseline" if each.by_baseline else "chassis page"


def spring_stands(each: CornerSpring, units: Units) -> str:
    """'At RR stands 120.0 lb/in (As found 14 Mar 2026).'"""
    rate = format_rate(each.spring_rate, units)
    return f"At {each.corner} stands {rate} ({_source(each)})."


def tyre_stands(each: CornerSpring, units: Units) -> str:
    """'At RR 500.0 lb/in (chassis page).'"""
    return f"At {each.corner} {format_rate(each.tyre_rate, units)} (chassis page)."


def rate_lines(rates: WheelRates, now: CornerSpring | None, units: Units) -> list[RateLine]:
    """What a spring would be, beside what stands there."""
    stands = now.rates if now else None
    lines = [
        ("Wheel rate", rates.wheel_rate, stands.wheel_rate if stands else None),
        ("Ride rate", rates.ride_rate, stands.ride_rate if stands else None),
    ]
    if stands:
        lines.append(("Ride rate in roll", rates.ride_rate_in_roll, stands.ride_rate_in_roll))
    return [
        RateLine(name, format_rate(rate, units), "" if old is None else format_rate(old, units))
        for name, rate, old in lines
    ]


def format_rate(rate: float, units: Units) -> str:
    """'112.5 lb/in'."""
    return format_predicted(rate, Kind.SPRING_RATE, units)


def _bare(rate: float, units: Units) -> str:
    unit = unit_of(Kind.SPRING_RATE, units.spring_rate)
    return format_rate(rate, units).removesuffix(unit.suffix)


def rate_unit(units: Units) -> str:
    """'lb/in'."""
    return unit_of(Kind.SPRING_RATE, units.spring_rate).suffix.strip()


def format_ratio(ratio: float) -> str:
    """'0.9'."""
    return f"{as_decimal(round(ratio, 4)).normalize():f}"
