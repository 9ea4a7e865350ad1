"""What a driver will weigh at the next event, and so how much less ballast the car needs there."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from django.db.models import Q
from django.utils import timezone

from cars.mechanics.errors import TooThin
from cars.mechanics.growth import ENOUGH, Forecast, forecast_weight
from cars.models import Car, Sheet
from cars.plans.queries.class_limits import ClassLimit, class_limit
from clubsetup.access.models import User
from events.models import Entry, Event
from events.queries.listing import events_ahead
from teams.models import Driver, DriverWeight

# A line holds over a season at most, and not far beyond what was weighed; our judgement.
LOOKED_BACK = timedelta(days=365)
AHEAD_AT_MOST = timedelta(days=120)
MOST_WEIGHINGS = 60

FEW = "Too few weighings"


@dataclass(frozen=True, slots=True)
class NextEvent:
    """The event a driver is entered in next, and the car; else the club's next, without one."""

    event: Event
    car: Car | None = None


@dataclass(frozen=True, slots=True)
class BallastForecast:
    """`lacking`: why nothing can be said. Masses kg."""

    driver: Driver
    ahead: NextEvent
    last: DriverWeight | None = None
    forecast: Forecast | None = None
    lacking: str = ""
    sheet: Sheet | None = None  # the newest as set of the car, for a plan
    heavier: float = 0.0  # at the event than when that sheet was made, by the line
    limit: ClassLimit | None = None

    @property
    def day(self) -> date:
        """Of the event, or today while it is under way."""
        return max(self.ahead.event.starts_on, timezone.localdate())

    @property
    def least(self) -> float:
        """Kg less ballast than with the last weighing, at least; below 0 is more."""
        return self._beyond(self.forecast.low) if self.forecast else 0.0

    @property
    def most(self) -> float:
        """At most."""
        return self._beyond(self.forecast.high) if self.forecast else 0.0

    def _beyond(self, mass: float) -> float:
        return mass - float(self.last.mass) if self.last else 0.0


def next_event_of(driver: Driver, viewer: User) -> NextEvent | None:
    """What the driver is entered in next; else what the club holds next."""
    today = timezone.localdate()
    entries = Entry.objects.current().filter(team=driver.team_id, driver=driver)
    entry = (
        entries.exclude(event__state=Event.State.OVER)
        .filter(Q(event__state=Event.State.UNDER_WAY) | Q(event__ends_on__gte=today))
        .select_related("event", "car__team__club", "car__chassis", "car__race_class")
        .order_by("event__starts_on", "pk")
        .first()
    )
    if entry is not None:
        return NextEvent(entry.event, entry.car)
    ahead = [each for each in events_ahead(viewer) if each.club_id == driver.team.club_id]
    return NextEvent(ahead[0]) if ahead else None


def ballast_forecast(driver: Driver, viewer: User) -> BallastForecast | None:
    """For who may see the weight log (row security shows nobody else a line of it).

    None where no event is ahead.
    """
    ahead = next_event_of(driver, viewer)
    return None if ahead is None else _forecast(driver, ahead)


def _forecast(driver: Driver, ahead: NextEvent) -> BallastForecast:
    weighed = _weighed(driver.pk)
    found = BallastForecast(driver, ahead, weighed[-1] if weighed else None)
    if not weighed or len(weighed) < ENOUGH:
        lacking = f"{FEW}: {len(weighed)} in a year, and it takes {ENOUGH}."
        return BallastForecast(driver, ahead, found.last, lacking=lacking)
    if found.day - weighed[-1].weighed_on > AHEAD_AT_MOST:
        lacking = f"The last weighing is more than {AHEAD_AT_MOST.days} days before the event."
        return BallastForecast(driver, ahead, found.last, lacking=lacking)
    try:
        forecast = _at(weighed, found.day)
    except TooThin:
        lacking = f"{FEW}: all are of one day."
        return BallastForecast(driver, ahead, found.last, lacking=lacking)
    sheet = _newest_set(ahead.car) if ahead.car else None
    heavier = _at(weighed, sheet.made_on).expected if sheet else forecast.expected
    return BallastForecast(
        driver,
        ahead,
        weighed[-1],
        forecast,
        sheet=sheet,
        heavier=forecast.expected - heavier,
        limit=class_limit(ahead.car) if ahead.car else None,
    )


def _weighed(driver: UUID) -> list[DriverWeight]:
    """The weighings of the year up to the newest, oldest first."""
    rows = DriverWeight.objects.filter(driver=driver).order_by("-weighed_on", "-pk")
    newest = list(rows[:MOST_WEIGHINGS])
    since = newest[0].weighed_on - LOOKED_BACK if newest else None
    return [row for row in newest[::-1] if since is None or row.weighed_on >= since]


def _at(weighed: Sequence[DriverWeight], day: date) -> Forecast:
    first = weighed[0].weighed_on
    days = [float((row.weighed_on - first).days) for row in weighed]
    return forecast_weight(days, [float(row.mass) for row in weighed], float((day - first).days))


def _newest_set(car: Car) -> Sheet | None:
    rows = Sheet.objects.current().filter(car=car, team=car.team_id, role=Sheet.Role.SET)
    return rows.order_by("-made_on", "-created_at").first()
