"""A club with many teams that have a car of the same chassis, and their sheets."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from django.utils import timezone

from cars.models import Baseline, Car, Ownership, Reading, Sheet
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from teams.actions.teams import make_team
from teams.models import Team
from tests.cars.garage import Garage
from tests.people import People, join, person

LONG_AGO = datetime(2026, 3, 15, 20, tzinfo=UTC)
Figures = dict[str, str]  # "ride-height.LF" to canonical text


@dataclass
class Meadow:
    """Seven teams, one person who keeps them all."""

    people: People
    garage: Garage
    keeper: User
    teams: list[Team]

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
        role: str = "left",
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

    def each(self, figures: list[Figures]) -> None:
        """One car and one sheet as left for each of the first teams."""
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
    """The teams without any car yet."""
    keeper = person("keeper")
    with viewing_as(people.steward.pk):
        made = [
            make_team(by=people.steward, club=people.club, name=f"Team {place}")
            for place in range(teams)
        ]
    for team in made:
        join(people.steward, keeper, people.club, "chief", team)
    return Meadow(people, garage, keeper, made)


def this_week() -> datetime:
    """A moment that does not count yet."""
    return timezone.now()


def last_monday() -> datetime:
    """When this week began."""
    now = datetime.now(UTC)
    start = now - timedelta(days=now.weekday())
    return start.replace(hour=0, minute=0, second=0, microsecond=0)
