"""Taking readings where two people may write: nobody overwrites what they never saw."""

from uuid import UUID

from django.utils import timezone

from cars.catalogue.keys import Key
from cars.constraint_messages import constraint_messages
from cars.figures.box_entries import BoxEntry
from cars.models import Reading, Sheet
from cars.permissions import check_can_write_sheet
from cars.sheets.actions.conflicts import EditConflict, is_seen, last_replaced, standing_in
from cars.sheets.actions.readings import locked_open, take_readings
from clubsetup.access.actions import action, record
from clubsetup.access.errors import WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User

CARRIED = (
    *("measure_id", "spot", "take", "value", "typed", "unit", "resolution"),
    "carried_from_id",
)


@action
def replace_reading(
    *, by: User, sheet: Sheet, entry: BoxEntry, seen: UUID | None, again: bool = False
) -> Reading | None:
    """Takes a reading in place of the one the person saw: its id, None for an empty box.

    Raises EditConflict where something else stands there now and says something else. Sent
    twice under one reading id makes one. `again`: it was read again and may say the same.
    Returns the reading that stands afterwards.
    """
    key = entry.key
    made = take_readings(by=by, sheet=sheet, entries=[entry], anew=again, seen={key: seen})
    return made[0] if made else standing_in(sheet, key)


@action
def put_back_reading(
    *, by: User, sheet: Sheet, key: Key, seen: UUID | None, reading_id: UUID | None = None
) -> Reading:
    """Undo: the reading that was replaced last stands again, as a new reading with its figure.

    The one it takes the place of is kept as replaced, so that undoing twice brings that back.
    """
    check_can_write_sheet(by, sheet)
    now = locked_open(sheet)
    standing, last = standing_in(now, key), last_replaced(now, key)
    if not is_seen(standing, seen):
        raise EditConflict(key, standing, last)
    if last is None:
        raise WrongState("Nothing stood in this box before.")
    moment = timezone.now()
    back = Reading(
        pk=reading_id or new_id(),
        sheet=now,
        team_id=now.team_id,
        by_id=last.by_id if last.carried_from_id else by.pk,
        taken_at=last.taken_at,
        **{name: getattr(last, name) for name in CARRIED},
    )
    with constraint_messages():
        if standing is not None:
            Reading.objects.filter(pk=standing.pk).update(replaced_at=moment, replaced_by=by)
        back.save(force_insert=True)
    was = standing.typed if standing else ""
    record(by=by, did="took", on=now, team_id=now.team_id, readings={str(key): [was, back.typed]})
    return back
