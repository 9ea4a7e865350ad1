"""A car to its next owner: offered, taken, withdrawn, taken back."""

import secrets
from collections.abc import Sequence
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.db import connection
from django.utils import timezone

from cars.handover.actions.unpacking import unpack
from cars.handover.queries.goods import goods_of
from cars.handover.queries.offers import digest_of, has_open_work, offer_of
from cars.handover.queries.package import make_package
from cars.models import Car, Chassis, Handover
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.limits import count_against_limit
from clubsetup.access.models import User
from teams.models import RaceClass, Team
from teams.permissions import check_can_lead
from teams.queries.clocks import today_of

HOLDS_FOR = timedelta(days=14)
# No letters or figures that are taken for each other; 20 of these are 99 bits.
LETTERS = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
GROUPS, IN_A_GROUP = 5, 4
LONGEST_NUMBER = 6
LONGEST_CHASSIS = 60
GONE = "No car is offered under this code: it is mistyped, used, withdrawn or too old."
REFUSALS = {
    "gone": ("code", GONE),
    "own": ("team", "Your team has this car already."),
    "chassis": ("chassis", "Choose a chassis of your own club, or say how the new one is called."),
    "chassis-name": (
        "chassis_name",
        "Your club has a chassis of this name. Choose that one, or write another name.",
    ),
    "race-class": ("race_class", "Choose a class of your own club."),
    "number": ("number", "Your team has a car of this number already. Give it another."),
}
WAITS = {
    "open-sheet": "The other team still has a sheet of this car open. Ask them to close it, then "
    "take the car: the code stays good.",
    "entered": "The car is entered in an event that is not over. Ask the other team to withdraw "
    "the entry, then take the car: the code stays good.",
}
NOT_BACK = {
    "not-taken": "Nobody has taken this car, so there is nothing to take back.",
    "written": "The other team has written on the car since, so it stays theirs. They can hand it "
    "over to you.",
    "number": "Your team has another car of its number by now. Give that one another number, then "
    "take this car back.",
}


def _make_code() -> str:
    """A code to be written down or read out: once, and kept nowhere."""
    return "-".join(
        "".join(secrets.choice(LETTERS) for _ in range(IN_A_GROUP)) for _ in range(GROUPS)
    )


@action
def offer_car(
    *,
    by: User,
    car: Car,
    history: str,
    ticked: Sequence[str] = (),
    handover_id: UUID | None = None,
) -> tuple[Handover, str]:
    """Offers the car to whoever is given the code, with what was chosen; the code is told once."""
    check_can_lead(by, car.team)
    count_against_limit(by, "invitations")
    if history not in Handover.History.values:
        raise Invalid("history", f"Choose one of: {', '.join(Handover.History.values)}.")
    Car.objects.select_for_update(no_key=True).get(pk=car.pk)
    _refuse_unfinished(car)
    offers = Handover.objects.filter(car=car, taken_at__isnull=True, withdrawn_at__isnull=True)
    if offers.open().exists():
        raise WrongState("This car is offered already. Withdraw that offer first.")
    # Nobody took it in time.
    offers.update(withdrawn_at=timezone.now())
    code = _make_code()
    row = Handover.objects.create(
        pk=handover_id or new_id(),
        car=car,
        team=car.team,
        by=by,
        history=history,
        ticked=sorted(set(ticked)),
        package=make_package(goods_of(car, history, ticked), ticked),
        digest=digest_of(code),
        expires_at=timezone.now() + HOLDS_FOR,
    )
    record(by=by, did="offered", on=car, team_id=car.team_id, history=history)
    return row, code


def _refuse_unfinished(car: Car) -> None:
    if has_open_work(car.pk, car.team_id):
        raise WrongState("A sheet of this car is open. Close it first: only closed sheets go.")
    with connection.cursor() as cursor:
        cursor.execute("SELECT access.own_car_is_entered(%s)", [car.pk])
        (entered,) = cursor.fetchone()
    if entered:
        raise WrongState("This car is entered in an event. Withdraw it there first.")


@action
def withdraw_offer(*, by: User, handover: Handover) -> Handover:
    """Makes the code worthless."""
    check_can_lead(by, handover.team)
    row = Handover.objects.select_for_update(no_key=True).get(pk=handover.pk)
    if row.taken_at:
        raise WrongState("The car has been taken. You can take it back until they write on it.")
    if row.withdrawn_at:
        raise WrongState("This offer was withdrawn before.")
    row.withdrawn_at = timezone.now()
    row.save(update_fields=["withdrawn_at"])
    record(by=by, did="withdrew_offer", on=row.car, team_id=row.team_id)
    return row


@action
def take_car(
    *,
    by: User,
    code: str,
    team: Team,
    number: str,
    chassis: Chassis | None = None,
    chassis_name: str = "",
    name: str = "",
    race_class: RaceClass | None = None,
) -> Handover:
    """The receiver's chief confirms: the car is theirs, and what goes along stands under new ids.

    `chassis_name`: without a chassis of the receiver's club one is made under this name, of what
    came along.
    Of several who send the code at once the first has it.
    """
    check_can_lead(by, team)
    count_against_limit(by, "invitations")
    number = number.strip()
    if not 0 < len(number) <= LONGEST_NUMBER:
        raise Invalid("number", f"Give the car's number, at most {LONGEST_NUMBER} characters.")
    if len(chassis_name.strip()) > LONGEST_CHASSIS:
        raise Invalid("chassis_name", f"Name the chassis in at most {LONGEST_CHASSIS} characters.")
    offer = offer_of(code)
    if offer is None:
        raise Invalid("code", GONE)
    given: list[Any] = [digest_of(code), team.pk, today_of(by), number, name.strip()]
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT access.take_car(%s, %s, %s, %s, %s, %s, %s, %s)",
            [
                *given,
                chassis.pk if chassis else None,
                race_class.pk if race_class else None,
                "" if chassis else chassis_name.strip(),
            ],
        )
        (refusal,) = cursor.fetchone()
    if refusal in WAITS:
        raise WrongState(WAITS[refusal])
    if refusal:
        raise Invalid(*REFUSALS[refusal])
    handover = Handover.objects.select_related("car", "made_chassis").get(pk=offer.pk)
    if handover.made_chassis is not None:
        record(by=by, did="added", on=handover.made_chassis, club_id=team.club_id)
    unpack(by, team, handover)
    record(by=by, did="took_over", on=handover.car, team_id=team.pk)
    return handover


@action
def take_car_back(*, by: User, handover: Handover) -> Handover:
    """The giver's chief has the car again, and the copies are gone; until the receiver writes."""
    check_can_lead(by, handover.team)
    with connection.cursor() as cursor:
        cursor.execute("SELECT access.take_car_back(%s)", [handover.pk])
        (refusal,) = cursor.fetchone()
    if refusal:
        raise WrongState(NOT_BACK.get(refusal, NOT_BACK["not-taken"]))
    row = Handover.objects.select_related("car").get(pk=handover.pk)
    record(by=by, did="took_car_back", on=row.car, team_id=row.team_id)
    return row
