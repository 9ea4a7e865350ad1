"""The ballast forecast in words, on the driver's page and on the car's."""

from dataclasses import dataclass
from urllib.parse import urlencode
from uuid import UUID

from django.urls import reverse

from cars.bench.presenters.car_sections import CarSection
from cars.figures.prediction_format import as_decimal, format_predicted
from cars.models import Step
from clubsetup.access.models import User
from clubsetup.clock.writing import day
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import unit_of
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show
from events.queries.ballast_forecast import BallastForecast, ballast_forecast
from events.queries.listing import entries_ahead
from teams.models import Driver
from teams.presenters.driver_sections import DriverSection
from teams.queries.roles import roles_of

TEMPLATE = "events/_ballast_forecast.html"


@dataclass(frozen=True, slots=True)
class ForecastShown:
    """`says`: '2.1 to 3.4 lb less ballast by 13 Dec'; `plan`: where pieces are chosen with it."""

    driver: Driver
    event: str
    says: str
    more: str = ""
    lacking: str = ""
    plan: str = ""


def forecast_shown(found: BallastForecast, viewer: User) -> ForecastShown:
    """In the viewer's units."""
    units = viewer.units(found.driver.team.club.units())
    event = f"{found.ahead.event}, {day(found.day)}"
    if found.forecast is None or found.last is None:
        return ForecastShown(found.driver, event, "", lacking=found.lacking)
    weight = _range(found.forecast.low, found.forecast.high, units)
    last = format_predicted(float(found.last.mass), Kind.MASS, units)
    more = (
        f"{found.driver} is expected at {weight}, by a line through {found.forecast.weighings} "
        f"weighings; the last was {last}, {day(found.last.weighed_on)}. "
        "Of twenty such weighings nineteen would lie within."
    )
    says = f"{_ballast(found.least, found.most, units)} by {day(found.day)}"
    return ForecastShown(found.driver, event, says, more, plan=_plan(found, units))


def _ballast(least: float, most: float, units: Units) -> str:
    """'2.1 to 3.4 lb less ballast'; where it may be either, both ends say which."""
    if least >= 0:
        return f"{_range(least, most, units)} less ballast"
    if most <= 0:
        return f"{_range(-most, -least, units)} more ballast"
    ends = (format_predicted(abs(each), Kind.MASS, units) for each in (least, most))
    return "from {} more to {} less ballast".format(*ends)


def _range(low: float, high: float, units: Units) -> str:
    """'2.1 to 3.4 lb'."""
    unit = units.for_kind(Kind.MASS)
    first = show(as_decimal(low), Kind.MASS, unit=unit, places=1).bare
    return f"{first} to {format_predicted(high, Kind.MASS, units)}"


def _plan(found: BallastForecast, units: Units) -> str:
    """The plan for the class's minimum with the driver that much heavier; empty where it lacks."""
    minimum = found.limit.minimum if found.limit else None
    if found.sheet is None or minimum is None or found.forecast is None:
        return ""
    unit = units.for_kind(Kind.MASS)
    sent = {
        "minimum": show(minimum, Kind.MASS, unit=unit).text,
        "margin": "0.5 kg" if unit == "kg" else "1 lb",
        "fuel_now": found.sheet.fuel_typed,
        "driver": _typed(found.heavier, unit),
        "between": _typed(found.forecast.u, unit),
    }
    return f"{reverse('sheet-ballast', args=[found.sheet.pk])}?{urlencode(sent)}"


def _typed(mass: float, unit: str) -> str:
    return f"{mass / float(unit_of(Kind.MASS, unit).factor):.1f} {unit}"


def forecast_of_driver(driver: Driver, viewer: User) -> DriverSection | None:
    """On the driver's page, for who may see the weight log."""
    if not roles_of(viewer).may_comment(driver.team_id):
        return None
    found = ballast_forecast(driver, viewer)
    return None if found is None else DriverSection(TEMPLATE, [forecast_shown(found, viewer)])


def forecast_of_car(car: UUID, team: UUID, viewer: User, step: Step | None) -> CarSection | None:
    """On the page of a car that is entered, of the driver who is."""
    if step is not None or not roles_of(viewer).may_comment(team):
        return None
    drivers = [each.driver_id for each in entries_ahead(viewer, [car]) if each.driver_id]
    if not drivers:
        return None
    driver = Driver.objects.select_related("team__club").get(pk=drivers[-1])
    found = ballast_forecast(driver, viewer)
    if found is None or found.ahead.car is None or found.ahead.car.pk != car:
        return None
    return CarSection(TEMPLATE, [forecast_shown(found, viewer)])


DRIVER_SECTIONS = (forecast_of_driver,)
CAR_SECTIONS = (forecast_of_car,)
