"""Cars, and which team has them."""

from datetime import date
from uuid import UUID

from cars.models import Baseline, Car, Chassis, Ownership
from cars.permissions import check_can_keep_car
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from teams.models import RaceClass, Team
from teams.permissions import check_can_crew
from teams.queries.clocks import today_of

LONGEST_NUMBER = 6


@action
def add_car(
    *,
    by: User,
    team: Team,
    number: str,
    chassis: Chassis,
    name: str = "",
    race_class: RaceClass | None = None,
    baseline: Baseline | None = None,
    since: date | None = None,
    car_id: UUID | None = None,
) -> Car:
    """A car of the team, and the first line of its ownership."""
    check_can_crew(by, team)
    car = Car(pk=car_id or new_id(), team=team, number=_free_number(team, number))
    _describe(car, chassis, race_class, baseline)
    car.name = name.strip()
    car.save(force_insert=True)
    first_day = since or today_of(by)
    Ownership.objects.create(car=car, team=team, since=first_day)
    record(by=by, did="added", on=car, team_id=team.pk, since=first_day.isoformat())
    return car


@action
def edit_car(
    *,
    by: User,
    car: Car,
    number: str,
    name: str,
    chassis: Chassis,
    race_class: RaceClass | None,
    baseline: Baseline | None,
) -> Car:
    """Changes what a car is; its sheets keep the baseline they were opened with."""
    check_can_keep_car(by, car)
    was = {"number": car.number, "name": car.name, "chassis": str(car.chassis_id)}
    if number.strip() != car.number:
        car.number = _free_number(car.team, number, but=car)
    _describe(car, chassis, race_class, baseline)
    car.name = name.strip()
    car.save(update_fields=["number", "name", "chassis", "race_class", "baseline"])
    record(by=by, did="edited", on=car, team_id=car.team_id, was=was)
    return car


def _free_number(team: Team, number: str, but: Car | None = None) -> str:
    number = number.strip()
    if not 0 < len(number) <= LONGEST_NUMBER:
        raise Invalid("number", f"Give the car's number, at most {LONGEST_NUMBER} characters.")
    others = Car.objects.filter(team=team, number__iexact=number)
    if taken := (others.exclude(pk=but.pk) if but else others).first():
        raise Invalid("number", f"{team} has a car {taken.number} already.")
    return number


def _describe(
    car: Car, chassis: Chassis, race_class: RaceClass | None, baseline: Baseline | None
) -> None:
    if chassis.club_id != car.team.club_id:
        raise Invalid("chassis", f"Choose a chassis of {car.team.club}.")
    if race_class is not None and race_class.club_id != car.team.club_id:
        raise Invalid("race_class", f"Choose a class of {car.team.club}.")
    if baseline is not None:
        if baseline.chassis_id != chassis.pk:
            raise Invalid("baseline", f"Choose a baseline of the {chassis}.")
        if baseline.state == Baseline.State.DRAFT:
            raise Invalid("baseline", "A draft is not in force yet. Choose a published baseline.")
    car.chassis, car.race_class, car.baseline = chassis, race_class, baseline
