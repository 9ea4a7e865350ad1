"""A club with many teams that have a car of the same chassis, and their sheets."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from django.utils import timezone

from cars.garage.actions.cars import add_car
from cars.models import Baseline, Car, Ownership, Reading, Sheet
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from events.actions.entries import enter
from events.actions.weighing import weigh
from events.models import Entry
from teams.actions.drivers import add_driver
from teams.actions.teams import make_team
from teams.models import Team
from tests.cars.garage import Garage
from tests.events.meeting import Meeting, make_meeting, mass
from tests.people import People, join, person

LONG_AGO = datetime(2026, 3, 15, 20, tzinfo=UTC)
# When the steward asks: the weighings of the meadow are taken now.
LATER = timedelta(days=31)
Figures = dict[str, str]  # "ride-height.LF" to canonical text


@dataclass
class Meadow:
    """Seven teams whose cars were weighed, one person who keeps them all."""

    people: People
    garage: Garage
    keeper: User
    teams: list[Team]
    meeting: Meeting

    @property
    def baseline(self) -> Baseline:
        """The paved one in force."""
        return self.garage.baseline

    def car(self, place: int, number: str = "1", **given: object) -> Car:
        """A car of one of the teams."""
        with viewing_as(self.keeper.pk):
            team, chassis = self.teams[place], self.garage.chassis
            car = Car.objects.create(team=team, chassis=chassis, number=number, **given)
            Ownership.objects.create(car=car, team=team, since=date(2026, 1, 1))
        return car

    def sheet(
        self,
        car: Car,
        figures: Figures,
        *,
        day: int = 1,
        role: str = "set",
        surface: str = "paved",
        closed_at: datetime | None = LONG_AGO,
        corrects: Sheet | None = None,
    ) -> Sheet:
        """A sheet of that car; open where it was never closed."""
        with viewing_as(self.keeper.pk):
            sheet = Sheet.objects.create(
                car=car,
                team_id=car.team_id,
                role=role,
                surface=surface,
                made_on=date(2026, 3, day),
                opened_by=self.keeper,
                corrects=corrects,
                version=2 if corrects else 1,
                reason="Misread." if corrects else "",
            )
            Reading.objects.bulk_create(_reading(sheet, name, figures[name]) for name in figures)
            if closed_at:
                Sheet.objects.filter(pk=sheet.pk).update(
                    state="closed", closed_at=closed_at, closed_by=self.keeper
                )
        return sheet

    def weighed(self, team: Team, number: str) -> None:
        """The club's official weighs a car of the team, of another chassis, at the meeting."""
        people, meeting = self.people, self.meeting
        with viewing_as(self.keeper.pk):
            car = add_car(by=self.keeper, team=team, number=number, chassis=meeting.car.chassis)
            driver = add_driver(by=self.keeper, team=team, display_name="Finch")
            entry = enter(by=self.keeper, event_class=meeting.event_class, car=car, driver=driver)
        with viewing_as(people.official.pk):
            entry = Entry.objects.select_related("event", "event_class").get(pk=entry.pk)
            weigh(
                by=people.official,
                entry=entry,
                scale_set=meeting.platform,
                stage="entry",
                driver_in=True,
                total=mass("150 kg"),
            )

    def each(self, figures: list[Figures]) -> None:
        """One car and one sheet as set for each of the first teams."""
        for place, these in enumerate(figures):
            self.sheet(self.car(place), these)


def _reading(sheet: Sheet, name: str, text: str) -> Reading:
    measure, spot = name.split(".")
    return Reading(
        sheet=sheet,
        team_id=sheet.team_id,
        measure_id=measure,
        spot=spot,
        value=Decimal(text),
        typed=text,
        unit="mm",
        by=sheet.opened_by,
    )


def make_meadow(people: People, garage: Garage, teams: int = 7) -> Meadow:
    """The teams without any car of the chassis yet."""
    keeper = person("keeper")
    with viewing_as(people.steward.pk):
        made = [
            make_team(by=people.steward, club=people.club, name=f"Team {place}")
            for place in range(teams)
        ]
    for team in made:
        join(people.steward, keeper, people.club, "chief", team)
    meadow = Meadow(people, garage, keeper, made, make_meeting(people))
    for place, team in enumerate(made):
        meadow.weighed(team, str(100 + place))
    return meadow


def asked_at() -> datetime:
    """When the steward asks."""
    return timezone.now() + LATER


def this_week() -> datetime:
    """A moment that does not count yet."""
    return asked_at()


def last_monday() -> datetime:
    """When this week began."""
    now = asked_at().astimezone(UTC)
    start = now - timedelta(days=now.weekday())
    return start.replace(hour=0, minute=0, second=0, microsecond=0)
