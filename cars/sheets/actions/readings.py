"""Taking readings: several at once, each replacing the one that stood in its box."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.db.models import Q
from django.utils import timezone

from cars.catalogue.keys import Key
from cars.constraint_messages import MESSAGES, constraint_messages
from cars.figures.box_entries import BoxEntry, read_entry
from cars.models import Measure, Reading, Sheet
from cars.permissions import check_can_write_sheet
from cars.sheets.actions.conflicts import (
    OVER_ANYTHING,
    EditConflict,
    SeenReadings,
    Unseen,
    is_seen,
    refuse_unseen,
)
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.idempotency import DIFFERS
from clubsetup.access.ids import new_id
from clubsetup.access.models import User


def locked_open(sheet: Sheet) -> Sheet:
    """The sheet as it is now, held until the transaction ends. Raises WrongState if closed."""
    now = Sheet.objects.select_for_update(of=("self",)).select_related("team").get(pk=sheet.pk)
    if now.state == Sheet.State.CLOSED:
        raise WrongState(MESSAGES["sheet_is_closed"])
    return now


@action
def take_readings(
    *,
    by: User,
    sheet: Sheet,
    entries: Sequence[BoxEntry],
    seen: SeenReadings,
    anew: bool = False,
) -> list[Reading]:
    """Keeps what was typed; the reading that stood in a box is kept as replaced.

    An entry that says what stands there already does nothing, unless the figures were read
    `anew`, or what stands was carried from another sheet and not read: the same figure read now is
    another reading. An empty one empties its box.
    `seen` is the reading that the person saw in each box: raises EditConflict where another stands
    there now, unless it says OVER_ANYTHING. Returns the readings made.
    """
    check_can_write_sheet(by, sheet)
    if len({entry.key for entry in entries}) < len(entries):
        raise Invalid("readings", "One box was given twice.")
    sheet = locked_open(sheet)
    entries, standing = _sent_and_standing(sheet, entries)
    refuse_unseen(sheet, entries, standing, seen)
    fresh = [
        entry
        for entry in entries
        if (anew and entry.text) or _says_new(entry, standing.get(entry.key))
    ]
    was = [standing[entry.key] for entry in fresh if entry.key in standing]
    made = [_reading(by, sheet, entry) for entry in fresh if entry.text]
    with constraint_messages():
        Reading.objects.filter(pk__in=[old.pk for old in was]).update(
            replaced_at=timezone.now(), replaced_by=by
        )
        Reading.objects.bulk_create(made)
    if fresh:
        _leave_trail(by, sheet, fresh, standing)
    return made


@action
def take_typed(
    *, by: User, sheet: Sheet, typed: dict[str, str], measures: dict[str, Measure] | None = None
) -> list[Reading]:
    """Readings by the name of their box, over anything that stands there; all or none.

    `typed` is as in `{"ride-height.LF": "2 1/4", ...}`.

    Raises QuantityError for the first that cannot be read, KeyError for an unknown measure.
    """
    known = measures or Measure.objects.in_bulk()
    units = by.units(sheet.team.club.units())
    keys = {Key.of(name): text for name, text in typed.items()}
    entries = [read_entry(known[key.measure], key, text, units) for key, text in keys.items()]
    return take_readings(by=by, sheet=sheet, entries=entries, seen=OVER_ANYTHING)


@action
def take_same_again(
    *,
    by: User,
    sheet: Sheet,
    key: Key,
    seen: UUID | Unseen,
    reading_id: UUID | None = None,
) -> Reading:
    """The box was read again and says the same: a new reading with the figure that stood.

    `seen` is the reading that the person saw there: raises EditConflict where another stands by
    now, since nobody says of a figure they did not see that it is the same.
    """
    check_can_write_sheet(by, sheet)
    sheet = locked_open(sheet)
    was = sheet.readings.current().at(key.measure, key.spot, key.take).first()
    if was is None:
        raise WrongState("Nothing stands in this box any more. Take the reading.")
    if not isinstance(seen, Unseen) and not is_seen(was, seen):
        raise EditConflict(key, was, was)
    now = timezone.now()
    made = {"pk": reading_id or new_id(), "by": by, "taken_at": now}
    again = Reading(sheet=sheet, team_id=sheet.team_id, **made, **_figure(was))
    with constraint_messages():
        Reading.objects.filter(pk=was.pk).update(replaced_at=now, replaced_by=by)
        again.save(force_insert=True)
    taken = {str(key): [was.typed, was.typed]}
    record(by=by, did="took", on=sheet, team_id=sheet.team_id, readings=taken)
    return again


def _figure(reading: Reading) -> dict[str, Any]:
    names = ("measure_id", "spot", "take", "value", "typed", "unit", "resolution")
    return {name: getattr(reading, name) for name in names}


def _sent_and_standing(
    sheet: Sheet, entries: Sequence[BoxEntry]
) -> tuple[list[BoxEntry], dict[Key, Reading]]:
    """The entries whose id is new, and the readings that stand in their boxes.

    One that was kept before under its id says nothing again; raises WrongState where the id was
    another reading's.
    """
    ids = {entry.reading_id for entry in entries if entry.reading_id}
    boxes = Q(sheet=sheet, replaced_at__isnull=True, measure__in={e.key.measure for e in entries})
    rows = Reading.objects.filter(boxes | Q(pk__in=ids) if ids else boxes).order_by()
    stored: dict[UUID, Reading] = {}
    standing: dict[Key, Reading] = {}
    for row in rows:
        if row.pk in ids:
            stored[row.pk] = row
        if row.sheet_id == sheet.pk and row.replaced_at is None:
            standing[_key(row)] = row
    for entry in entries:
        before = stored.get(entry.reading_id) if entry.reading_id else None
        sent = (sheet.pk, entry.key, entry.text)
        if before and (before.sheet_id, _key(before), before.typed) != sent:
            raise WrongState(DIFFERS)
    return [entry for entry in entries if entry.reading_id not in stored], standing


def _key(row: Reading) -> Key:
    return Key(row.measure_id, row.spot, row.take)


def _says_new(entry: BoxEntry, standing: Reading | None) -> bool:
    if standing is None:
        return bool(entry.text)
    if standing.carried_from_id and entry.text:
        return True
    return not entry.same_as(standing.typed, standing.unit, standing.value)


def _reading(by: User, sheet: Sheet, entry: BoxEntry) -> Reading:
    quantity = entry.quantity
    return Reading(
        pk=entry.reading_id or new_id(),
        sheet=sheet,
        team_id=sheet.team_id,
        measure_id=entry.key.measure,
        spot=entry.key.spot,
        take=entry.key.take,
        value=quantity.value if quantity else None,
        typed=entry.text,
        unit=quantity.unit if quantity else "",
        resolution=quantity.resolution if quantity else None,
        by=by,
        taken_at=entry.taken_at or timezone.now(),
    )


def _leave_trail(
    by: User, sheet: Sheet, fresh: Sequence[BoxEntry], standing: dict[Key, Reading]
) -> None:
    taken = {
        str(entry.key): [standing[entry.key].typed if entry.key in standing else "", entry.text]
        for entry in fresh
    }
    record(by=by, did="took", on=sheet, team_id=sheet.team_id, readings=taken)
