"""Lengths that an official measures on a car, because a rule asks for them."""

from datetime import datetime
from uuid import UUID

from cars.models import Measure
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed
from events.actions.findings import find_again
from events.models import Entry, Event, TechReading
from events.permissions import check_can_inspect
from events.records.actions.chain import enter_in_chain
from events.records.actions.device_time import check_device_time
from events.records.actions.entry_lock import hold


@action
def measure_car(
    *,
    by: User,
    entry: Entry,
    measure: Measure,
    spot: str,
    length: Typed,
    device_at: datetime | None = None,
    reading_id: UUID | None = None,
) -> TechReading:
    """One length at one spot of the car as it stands; a later one takes its place. Finds again."""
    check_can_inspect(by, entry)
    check_device_time(device_at, entry.event)
    hold(entry)
    if entry.withdrawn_at is not None:
        raise WrongState("This entry was withdrawn.")
    if entry.event.state != Event.State.UNDER_WAY:
        raise WrongState(f"The desk of {entry.event} is open while the event is under way.")
    if measure.kind != Kind.LENGTH:
        raise Invalid("measure", f"{measure} is not a length.")
    if spot not in measure.spots:
        raise Invalid("spot", f"{measure} is taken at {', '.join(measure.spots)}.")
    if length.value <= 0:
        raise Invalid("length", "A length is more than nothing.")
    reading = TechReading.objects.create(
        pk=reading_id or new_id(),
        entry=entry,
        club_id=entry.club_id,
        team_id=entry.team_id,
        by=by,
        device_at=device_at,
        measure=measure,
        spot=spot,
        value=length.value,
        typed=length.text,
        # The tool resolves what it does, however coarsely its figure was written.
        resolution=measure.tool_resolution or length.resolution,
    )
    record(by=by, did="measured", on=reading, club_id=entry.club_id, at=f"{measure.pk} {spot}")
    findings = find_again(by=by, entry=entry, device_at=device_at)
    enter_in_chain(entry.event_id, reading, *findings)
    return reading
