"""Voids: a mistake stays on record, struck through, with the reason and who said so."""

from datetime import datetime
from typing import Any
from uuid import UUID

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from events.actions.findings import find_again
from events.models import BallastCheck, Entry, Event, TechReading, Void, WeighIn
from events.permissions import check_can_inspect
from events.records.actions.chain import enter_in_chain
from events.records.actions.device_time import check_device_time
from events.records.actions.entry_lock import hold


@action
def void_weigh_in(
    *,
    by: User,
    weigh_in: WeighIn,
    reason: str,
    device_at: datetime | None = None,
    void_id: UUID | None = None,
) -> Void:
    """Takes a weigh-in out of force and finds again on what is left."""
    _refuse_unless_may(by, weigh_in.entry, reason)
    if Void.objects.filter(weigh_in=weigh_in).exists():
        raise WrongState("This weigh-in is void already.")
    return _void(by, weigh_in.entry, reason, void_id, device_at, weigh_in=weigh_in)


@action
def void_ballast_check(
    *,
    by: User,
    ballast_check: BallastCheck,
    reason: str,
    device_at: datetime | None = None,
    void_id: UUID | None = None,
) -> Void:
    """Takes a look at a piece out of force and finds again on what is left."""
    _refuse_unless_may(by, ballast_check.entry, reason)
    if Void.objects.filter(ballast_check=ballast_check).exists():
        raise WrongState("This ballast check is void already.")
    return _void(by, ballast_check.entry, reason, void_id, device_at, ballast_check=ballast_check)


@action
def void_tech_reading(
    *,
    by: User,
    tech_reading: TechReading,
    reason: str,
    device_at: datetime | None = None,
    void_id: UUID | None = None,
) -> Void:
    """Takes a length out of force and finds again on what is left."""
    _refuse_unless_may(by, tech_reading.entry, reason)
    if Void.objects.filter(tech_reading=tech_reading).exists():
        raise WrongState("This reading is void already.")
    return _void(by, tech_reading.entry, reason, void_id, device_at, tech_reading=tech_reading)


def _refuse_unless_may(by: User, entry: Entry, reason: str) -> None:
    check_can_inspect(by, entry)
    hold(entry)
    if not reason.strip():
        raise Invalid("reason", "Say why it does not count, in a few words.")
    # After the event too: a protest may be upheld a month later.
    if entry.event.state == Event.State.PLANNED:
        raise WrongState(f"{entry.event} has not started.")


def _void(
    by: User,
    entry: Entry,
    reason: str,
    void_id: UUID | None,
    device_at: datetime | None,
    **what: Any,
) -> Void:
    check_device_time(device_at, entry.event)
    void = Void.objects.create(
        pk=void_id or new_id(),
        entry=entry,
        club_id=entry.club_id,
        team_id=entry.team_id,
        by=by,
        device_at=device_at,
        reason=reason.strip(),
        **what,
    )
    record(by=by, did="voided", on=void, club_id=entry.club_id, reason=void.reason)
    findings = find_again(by=by, entry=entry, device_at=device_at)
    enter_in_chain(entry.event_id, void, *findings)
    return void
