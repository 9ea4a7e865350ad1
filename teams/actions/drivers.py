"""Drivers: a display name, and apart from it a birth date and a weight log."""

from datetime import date, timedelta
from uuid import UUID

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.access.quantity_limits import refuse_outside
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed
from teams.models import Driver, DriverBirth, DriverWeight, Team
from teams.permissions import check_can_crew
from teams.queries.clocks import today_of


@action
def add_driver(*, by: User, team: Team, display_name: str, driver_id: UUID | None = None) -> Driver:
    """A first name or nickname is enough."""
    check_can_crew(by, team)
    name = _free_name(team, display_name)
    driver = Driver.objects.create(pk=driver_id or new_id(), team=team, display_name=name)
    record(by=by, did="added", on=driver, team_id=team.pk)
    return driver


@action
def rename_driver(*, by: User, driver: Driver, display_name: str) -> Driver:
    """Another name for the lap board."""
    check_can_crew(by, driver.team)
    driver.display_name = _free_name(driver.team, display_name, but=driver)
    driver.save(update_fields=["display_name"])
    record(by=by, did="renamed", on=driver, team_id=driver.team_id)
    return driver


def _free_name(team: Team, display_name: str, but: Driver | None = None) -> str:
    name = display_name.strip()
    if not name:
        raise Invalid("display_name", "Give the name that stands on the lap board.")
    others = Driver.objects.filter(team=team, display_name=name)
    if (others.exclude(pk=but.pk) if but else others).exists():
        raise Invalid("display_name", f"{team} has a driver {name} already.")
    return name


@action
def set_birth_date(*, by: User, driver: Driver, birth_date: date) -> None:
    """Kept apart, seen by the crew only; others learn 'eligible or not'."""
    check_can_crew(by, driver.team)
    if not date(1990, 1, 1) < birth_date < today_of(by):
        raise Invalid("birth_date", "A birth date lies in the past; write the year in full.")
    given = {"birth_date": birth_date}
    row, _ = DriverBirth.objects.update_or_create(
        driver=driver, defaults=given, create_defaults={"team_id": driver.team_id, **given}
    )
    # The trail says that it was set, not what it is.
    record(by=by, did="set", on=row, team_id=driver.team_id)


@action
def log_driver_weight(
    *, by: User, driver: Driver, weighed_on: date, mass: Typed, weight_id: UUID | None = None
) -> DriverWeight:
    """One line of the weight log: the driver dressed to race."""
    check_can_crew(by, driver.team)
    if weighed_on > today_of(by) + timedelta(days=1):  # somebody's clock may be ahead
        raise Invalid("weighed_on", "This day has not come yet.")
    refuse_outside("mass", mass, Kind.MASS, bounds.DRIVER)
    row = DriverWeight.objects.create(
        pk=weight_id or new_id(),
        driver=driver,
        team_id=driver.team_id,
        weighed_on=weighed_on,
        mass=mass.value,
        mass_typed=mass.text,
    )
    record(by=by, did="logged", on=row, team_id=driver.team_id)
    return row


@action
def remove_driver_weight(*, by: User, weight: DriverWeight) -> None:
    """Strikes a line written by mistake."""
    check_can_crew(by, weight.driver.team)
    record(by=by, did="removed", on=weight, team_id=weight.team_id)
    weight.delete()
