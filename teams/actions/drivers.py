"""Drivers: a display name, and apart from it a birth date and a weight log."""

from datetime import date
from uuid import UUID

from django.utils import timezone

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.reading import Typed
from teams.may import check_can_crew
from teams.models import Driver, DriverBirth, DriverWeight, Team


@action
def add_driver(*, by: User, team: Team, display_name: str, driver_id: UUID | None = None) -> Driver:
    """A first name or nickname is enough."""
    check_can_crew(by, team)
    display_name = display_name.strip()
    if not display_name:
        raise Invalid("display_name", "Give the name that stands on the lap board.")
    if Driver.objects.filter(team=team, display_name=display_name).exists():
        raise Invalid("display_name", f"{team} has a driver {display_name} already.")
    driver = Driver.objects.create(pk=driver_id or new_id(), team=team, display_name=display_name)
    record(by=by, did="added", on=driver, team_id=team.pk)
    return driver


@action
def set_birth_date(*, by: User, driver: Driver, birth_date: date) -> None:
    """Kept apart, seen by the crew only; others learn 'eligible or not'."""
    check_can_crew(by, driver.team)
    if not date(1990, 1, 1) < birth_date < timezone.now().date():
        raise Invalid("birth_date", "A birth date lies in the past; write the year in full.")
    row, _ = DriverBirth.objects.update_or_create(
        driver=driver, defaults={"team_id": driver.team_id, "birth_date": birth_date}
    )
    # The trail says that it was set, not what it is.
    record(by=by, did="set", on=row, team_id=driver.team_id)


@action
def log_driver_weight(*, by: User, driver: Driver, weighed_on: date, mass: Typed) -> DriverWeight:
    """One line of the weight log: the driver dressed to race."""
    check_can_crew(by, driver.team)
    row = DriverWeight.objects.create(
        driver=driver,
        team_id=driver.team_id,
        weighed_on=weighed_on,
        mass=mass.value,
        mass_typed=mass.text,
    )
    record(by=by, did="logged", on=row, team_id=driver.team_id)
    return row
