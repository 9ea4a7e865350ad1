"""Springs and tyres: what each corner's spring is at its wheel, and what another would be.

Lengths mm, rates N/mm.
"""

from dataclasses import dataclass
from decimal import Decimal

from cars.catalogue.queries import Catalogue
from cars.mechanics import CORNER_NAMES, BadInput, Chassis
from cars.mechanics.springs import WheelRates, coil_rate, spring_places, wheel_rates
from cars.models import Baseline, Car, Sheet
from cars.plans.queries.calibration import stated_chassis
from cars.plans.queries.newest_figures import newest_figures
from clubsetup.access.errors import Invalid
from clubsetup.quantities.reading import Typed

RATE = "spring-rate"
LEAST_COILS, MOST_COILS = 1, 40  # common practice, no source


@dataclass(frozen=True, slots=True)
class CornerSpring:
    """One corner: its spring's rate and where that is from, and what is made of it.

    ``read_on`` is the sheet that it was read on; ``by_baseline`` that it is the baseline's target;
    neither: it is the chassis page's.
    """

    corner: str
    spring_rate: float
    motion_ratio: float
    tyre_rate: float
    place: float
    rates: WheelRates
    read_on: Sheet | None
    by_baseline: bool


@dataclass(frozen=True, slots=True)
class CarSprings:
    """Four corners, or what stands in the way."""

    corners: tuple[CornerSpring, ...]
    missing: str

    def at(self, corner: str) -> CornerSpring | None:
        """The corner of that name."""
        return next((each for each in self.corners if each.corner == corner), None)


def car_springs(car: Car, known: Catalogue) -> CarSprings:
    """The car's springs as read last, else as its baseline, else as its chassis page says them.

    Tyres, motion ratios and places are the chassis page's. Four queries at most.
    """
    if not car.chassis.geometry:
        return CarSprings((), "The chassis has no geometry yet; a steward can add it on its page.")
    chassis, trouble = stated_chassis(car.chassis.geometry)
    if chassis is None:
        return CarSprings((), trouble)
    newest, wanted = newest_figures(car, [RATE], known), _baseline_rates(car)
    return CarSprings(
        tuple(
            _corner(
                chassis,
                at,
                newest.value(RATE, corner) if newest else None,
                newest.sheet if newest else None,
                wanted.get(corner),
            )
            for at, corner in enumerate(CORNER_NAMES)
        ),
        "",
    )


def _baseline_rates(car: Car) -> dict[str, float]:
    if car.baseline is None or car.baseline.state != Baseline.State.PUBLISHED:
        return {}
    rows = car.baseline.values.filter(measure=RATE)
    return {spot: float(target) for spot, target in rows.values_list("spot", "target")}


def _corner(
    chassis: Chassis, at: int, read: float | None, sheet: Sheet | None, wanted: float | None
) -> CornerSpring:
    rate = read or wanted or chassis.spring_rate[at]
    ratio, tyre = chassis.motion_ratio[at], chassis.tyre_rate[at]
    place = spring_places(chassis)[at]
    return CornerSpring(
        corner=CORNER_NAMES[at],
        spring_rate=rate,
        motion_ratio=ratio,
        tyre_rate=tyre,
        place=place,
        rates=wheel_rates(rate, ratio, tyre, place),
        read_on=sheet if read else None,
        by_baseline=not read and bool(wanted),
    )


def rates_at(
    rate: Typed, motion_ratio: Decimal | float, tyre_rate: float, at: CornerSpring | None
) -> WheelRates:
    """What a spring would be at a wheel; without a corner as if it stood above its tyre."""
    place = at.place if at else 1.0
    return wheel_rates(float(rate.value), float(motion_ratio), tyre_rate, place)


def rate_of_coil(wire: Typed, mean_diameter: Typed, active_coils: Decimal | float) -> float:
    """A spring's rate from its wire, of steel. Raises Invalid for a coil that cannot be wound."""
    try:
        return coil_rate(float(wire.value), float(mean_diameter.value), float(active_coils))
    except BadInput:
        raise Invalid(
            "wire",
            f"A wire of {wire.text} cannot be wound to a mean diameter of {mean_diameter.text}: "
            "that is the outside less one wire. Check both figures and their units.",
        ) from None
