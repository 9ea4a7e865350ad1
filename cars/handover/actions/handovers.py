"""A car to its next owner: offered, taken, withdrawn, taken back."""

import secrets
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any, NamedTuple
from uuid import UUID

from django.db import connection
from django.utils import timezone

from cars.handover.queries.offers import digest_of, has_open_work, offer_of
from cars.handover.queries.package import make_package
from cars.models import (
    Baseline,
    Car,
    Change,
    Chassis,
    HandedSheet,
    Handover,
    Reading,
    Sheet,
)
from cars.sheets.actions.closed_figures import keep_figures
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.limits import count_against_limit
from clubsetup.access.models import User
from teams.models import RaceClass, Team, Track
from teams.permissions import check_can_lead
from teams.queries.clocks import today_of

HOLDS_FOR = timedelta(days=14)
# No letters or figures that are taken for each other; 20 of these are 99 bits.
LETTERS = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
GROUPS, IN_A_GROUP = 5, 4
LONGEST_NUMBER = 6
GONE = "No car is offered under this code: it is mistyped, used, withdrawn or too old."
REFUSALS = {
    "gone": ("code", GONE),
    "own": ("team", "Your team has this car already."),
    "chassis": ("chassis", "Choose a chassis of your own club."),
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
        package=make_package(car, history, ticked),
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
    chassis: Chassis,
    name: str = "",
    race_class: RaceClass | None = None,
) -> Handover:
    """The receiver's chief confirms: the car is theirs, and what goes along stands under new ids.

    Of several who send the code at once the first has it.
    """
    check_can_lead(by, team)
    count_against_limit(by, "invitations")
    number = number.strip()
    if not 0 < len(number) <= LONGEST_NUMBER:
        raise Invalid("number", f"Give the car's number, at most {LONGEST_NUMBER} characters.")
    offer = offer_of(code)
    if offer is None:
        raise Invalid("code", GONE)
    given: list[Any] = [digest_of(code), team.pk, today_of(by), number, name.strip()]
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT access.take_car(%s, %s, %s, %s, %s, %s, %s)",
            [*given, chassis.pk, race_class.pk if race_class else None],
        )
        (refusal,) = cursor.fetchone()
    if refusal in WAITS:
        raise WrongState(WAITS[refusal])
    if refusal:
        raise Invalid(*REFUSALS[refusal])
    handover = Handover.objects.select_related("car").get(pk=offer.pk)
    _unpack(by, team, handover)
    record(by=by, did="took_over", on=handover.car, team_id=team.pk)
    return handover


class _Known(NamedTuple):
    """The receiver's own rows that a package of the same club names."""

    tracks: frozenset[UUID]
    baselines: frozenset[UUID]


def _unpack(by: User, team: Team, handover: Handover) -> None:
    package = handover.package
    known = _Known(frozenset(), frozenset())
    if package["club"] == str(team.club_id):
        tracks = Track.objects.filter(club=team.club_id).values_list("pk", flat=True)
        baselines = Baseline.objects.filter(club=team.club_id).values_list("pk", flat=True)
        known = _Known(frozenset(tracks), frozenset(baselines))
    sheets, readings, changes, origins = [], [], [], []
    # The oldest first, so that ids and moments stand in the order of the sheets.
    for content in reversed(package["sheets"]):
        sheet = _sheet(by, team, handover.car, content, known)
        sheets.append(sheet)
        readings += [_reading(by, sheet, row) for row in content["readings"]]
        changes += [_change(by, sheet, row) for row in content["changes"]]
        head = {k: v for k, v in content.items() if k not in {"readings", "changes", "source"}}
        head |= {"chassis": package["chassis"], "race_class": package["race_class"]}
        origin = HandedSheet(
            sheet=sheet, team=team, handover=handover, source=content["source"], content=head
        )
        origins.append(origin)
    Sheet.objects.bulk_create(sheets)
    Reading.objects.bulk_create(readings)
    Change.objects.bulk_create(changes)
    HandedSheet.objects.bulk_create(origins)
    if sheets:
        of_these = Sheet.objects.filter(pk__in=[sheet.pk for sheet in sheets])
        of_these.update(state=Sheet.State.CLOSED, closed_at=timezone.now(), closed_by=by)
        keep_figures(handover.car_id)


def _sheet(by: User, team: Team, car: Car, content: dict[str, Any], known: _Known) -> Sheet:
    track = UUID(content["track"]["id"]) if content["track"] else None
    baseline = UUID(content["targets"]["id"]) if content["targets"] else None
    fuel = content["fuel"]
    return Sheet(
        pk=new_id(),
        car=car,
        team=team,
        role=content["role"],
        made_on=date.fromisoformat(content["made_on"]),
        surface=content["surface"],
        track_id=track if track in known.tracks else None,
        baseline_id=baseline if baseline in known.baselines else None,
        fuel=_figure(fuel["value"]),
        fuel_typed=fuel["typed"],
        opened_by=by,
    )


def _reading(by: User, sheet: Sheet, row: dict[str, Any]) -> Reading:
    return Reading(
        pk=new_id(),
        sheet=sheet,
        team_id=sheet.team_id,
        measure_id=row["measure"],
        spot=row["spot"],
        take=row["take"],
        typed=row["typed"],
        unit=row["unit"],
        value=_figure(row["value"]),
        resolution=_figure(row["resolution"]),
        taken_at=datetime.fromisoformat(row["taken_at"]),
        by=by,
    )


def _change(by: User, sheet: Sheet, row: dict[str, Any]) -> Change:
    return Change(
        pk=new_id(),
        sheet=sheet,
        team_id=sheet.team_id,
        adjuster=row["adjuster"],
        spot=row["spot"],
        amount=Decimal(row["amount"]),
        unit=row["unit"],
        made_at=datetime.fromisoformat(row["made_at"]),
        by=by,
    )


def _figure(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)


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
