"""How cars stood at many times that are past, each sheet looked at once."""

from datetime import datetime, time
from uuid import UUID

from cars.models import Car
from cars.plans.queries.turns import TurnTable, turn_table
from cars.runs.queries.car_now import CarNow, car_on
from cars.runs.queries.track_changes import set_sheet_at
from clubsetup.access.models import User
from teams.models import Team


class CarsThen:
    """Cars of one team, as one person sees them."""

    def __init__(self, team: Team, viewer: User) -> None:
        self._team, self._viewer = team, viewer
        self._tables: dict[UUID, TurnTable] = {}

    def at(self, car: Car, when: datetime) -> CarNow | None:
        """The car as it stood then; None where no sheet as set says how."""
        sheet = set_sheet_at(car, self._team, when)
        if sheet is None:
            return None
        if sheet.pk not in self._tables:
            self._tables[sheet.pk] = turn_table(sheet, self._viewer)
        return car_on(sheet, self._viewer, until=when, table=self._tables[sheet.pk])

    def all_day(self, car: Car, when: datetime) -> CarNow | None:
        """The car as it stood from the morning to the evening of that day; None where something
        was done to it in between, or no sheet as set says how it stood."""
        day = when.astimezone(self._team.club.zone())
        morning, evening = (self.at(car, datetime.combine(day, at, day.tzinfo)) for at in ENDS)
        same = morning and evening and morning.sheet == evening.sheet
        return evening if same and evening and _state(morning) == _state(evening) else None


ENDS = (time.min, time.max)


def _state(car: CarNow | None) -> object:
    return car.state if car else None
