"""Entries: by a team for its own car and driver, or by hand at the desk by the car's number."""

import re
from uuid import UUID

from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from cars.models import Car
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from events.models import Entry, Event, EventClass
from events.permissions import (
    check_can_change_entry,
    check_can_confirm,
    check_can_enter,
    check_can_enter_walk_in,
)
from events.queries.published import start_list
from events.queries.walk_in import cars_by_number
from teams.models import Driver

# As a class calls its cars: one to three digits, and at most one letter after them.
_NUMBER = re.compile(r"[0-9]{1,3}[A-Za-z]?")
_TAKEN = ("entry_number_once_a_class", "entry_number_in_any_case")


@action
def enter(
    *,
    by: User,
    event_class: EventClass,
    car: Car,
    driver: Driver,
    number: str = "",
    entry_id: UUID | None = None,
) -> Entry:
    """The team's crew enter a car and driver; the number is the car's unless another is given."""
    check_can_enter(by, event_class.event, car.team)
    if driver.team_id != car.team_id:
        raise Invalid("driver", f"Choose a driver of {car.team}.")
    entry = Entry(
        pk=entry_id or new_id(),
        event_class=event_class,
        team_id=car.team_id,
        car=car,
        driver=driver,
        number=number.strip() or car.number,
        display_name=driver.display_name,
        confirmed_at=timezone.now(),
        confirmed_by=by,
    )
    _enter(entry)
    record(by=by, did="entered", on=entry, club_id=entry.club_id, team_id=entry.team_id)
    return entry


@action
def enter_walk_in(
    *,
    by: User,
    event_class: EventClass,
    car_number: str,
    car_id: UUID,
    entry_id: UUID | None = None,
) -> Entry:
    """An official or steward enters a car that stands at the scales. They cannot read cars: they
    say the number and choose among the club's teams that have it. Who drives the team says, when
    it confirms the entry; the car is weighed and looked at meanwhile."""
    event = event_class.event
    check_can_enter_walk_in(by, event)
    car = next((c for c in cars_by_number(event.pk, car_number) if c.car_id == car_id), None)
    if car is None:
        raise Invalid("car_number", f"No team of {event.club} has a car {car_number}.")
    entry = Entry(
        pk=entry_id or new_id(),
        event_class=event_class,
        team_id=car.team_id,
        car_id=car.car_id,
        number=car.number,
    )
    _enter(entry)
    record(by=by, did="entered_walk_in", on=entry, club_id=entry.club_id)
    return entry


@action
def confirm_entry(*, by: User, entry: Entry, driver: Driver) -> Entry:
    """The team's crew stand by an entry that was made by hand, and say who drives.

    From then on the officials see the ballast that the team lists, and whether the driver is
    eligible by age is answered them once.
    """
    check_can_confirm(by, entry)
    _refuse_withdrawn(entry)
    if entry.is_confirmed:
        raise WrongState("This entry is confirmed already.")
    if entry.event.state == Event.State.OVER:
        raise WrongState(f"{entry.event} is over.")
    if driver.team_id != entry.team_id:
        raise Invalid("driver", "Choose a driver of the team.")
    with connection.cursor() as cursor:
        cursor.execute("SELECT access.confirm_entry(%s, %s)", [entry.pk, driver.pk])
        if not cursor.fetchone()[0]:
            raise NotAllowed("Only the team's crew confirm its entry.")
    entry.refresh_from_db(fields=["driver", "display_name", "confirmed_at", "confirmed_by"])
    _record_change(by, "confirmed", entry)
    return entry


def _enter(entry: Entry) -> None:
    event = entry.event_class.event
    entry.event, entry.club_id = event, event.club_id
    if event.state == Event.State.OVER:
        raise WrongState(f"{event} is over.")
    _refuse_number(entry.number)
    mine = Entry.objects.current().filter(event_class=entry.event_class)
    if mine.filter(car_id=entry.car_id).exists():
        raise Invalid("car", f"Car {entry.number} is in {entry.event_class} already.")
    _refuse_taken(entry, entry.number)
    try:
        with transaction.atomic():
            entry.save(force_insert=True)
    except IntegrityError as clash:
        # Somebody else took the number since the start list was read.
        if not any(name in str(clash) for name in _TAKEN):
            raise
        raise Invalid(
            "number", f"{entry.event_class} has a number {entry.number} already."
        ) from clash


def _refuse_number(number: str) -> None:
    if not _NUMBER.fullmatch(number):
        raise Invalid(
            "number",
            f"{number or 'Nothing'} is no number to run under: write one to three digits and at "
            "most one letter after them, as in 7, 12 or 105x.",
        )


def _refuse_taken(entry: Entry, number: str) -> None:
    # From the start list: a team does not see the rows of the others' entries.
    listed = start_list(entry.event_id)
    for one in listed:
        if one.number.upper() == number.upper() and one.race_class == str(entry.event_class):
            raise Invalid("number", f"{entry.event_class} has a number {one.number} already.")


@action
def renumber_entry(*, by: User, entry: Entry, number: str) -> Entry:
    """Changes the number an entry runs under."""
    check_can_change_entry(by, entry)
    _refuse_withdrawn(entry)
    number = number.strip()
    was = entry.number
    if number != was:
        _refuse_number(number)
    if number.upper() != was.upper():
        _refuse_taken(entry, number)
    entry.number = number
    try:
        with transaction.atomic():
            entry.save(update_fields=["number"])
    except IntegrityError as clash:
        entry.number = was
        if not any(name in str(clash) for name in _TAKEN):
            raise
        raise Invalid("number", f"{entry.event_class} has a number {number} already.") from clash
    _record_change(by, "renumbered", entry, was=was, now=number)
    return entry


@action
def withdraw_entry(*, by: User, entry: Entry) -> Entry:
    """Takes an entry off the start list; what was found of it stays."""
    check_can_change_entry(by, entry)
    _refuse_withdrawn(entry)
    if entry.event.state == Event.State.OVER:
        raise WrongState(f"{entry.event} is over.")
    entry.withdrawn_at = timezone.now()
    entry.save(update_fields=["withdrawn_at"])
    _record_change(by, "withdrew", entry)
    return entry


@action
def restore_entry(*, by: User, entry: Entry) -> Entry:
    """Brings a withdrawn entry back, with what was found of it, while its number is free."""
    check_can_change_entry(by, entry)
    if entry.withdrawn_at is None:
        raise WrongState("This entry stands.")
    if entry.event.state == Event.State.OVER:
        raise WrongState(f"{entry.event} is over.")
    _refuse_taken(entry, entry.number)
    was, entry.withdrawn_at = entry.withdrawn_at, None
    try:
        with transaction.atomic():
            entry.save(update_fields=["withdrawn_at"])
    except IntegrityError as clash:
        # The car was entered again, or the number was taken since the start list was read.
        entry.withdrawn_at = was
        raise WrongState(f"The car or its number is in {entry.event_class} again.") from clash
    _record_change(by, "restored", entry, withdrawn_at=was.isoformat())
    return entry


def _record_change(by: User, did: str, entry: Entry, **detail: str) -> None:
    record(by=by, did=did, on=entry, club_id=entry.club_id, team_id=entry.team_id, **detail)


def _refuse_withdrawn(entry: Entry) -> None:
    if entry.withdrawn_at is not None:
        raise WrongState("This entry was withdrawn. Bring it back first.")
