"""What one sheet takes over from another, or from a baseline."""

from collections.abc import Collection

from django.db.models import QuerySet

from cars.catalogue.keys import Key
from cars.catalogue.queries import catalogue
from cars.models import Baseline, Change, Reading, Sheet, TrackChange
from cars.models.catalogue import Taken
from cars.sheets.queries.at_track import is_touched
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.texts import same_text


def copy_readings(
    source: Sheet, to: Sheet, *, carried: bool, touched_by: Collection[TrackChange] = ()
) -> None:
    """The readings that stand on `source`, by whoever took them, onto `to`; none that a change at
    the track has touched since, which is to be taken again.

    `carried`: the car is another one by then, so to speak, and nobody has read it; each copy
    names the reading that somebody did take. A target is nobody's reading at all.
    """
    known = catalogue()
    rows = [
        row
        for row in source.readings.current()
        if not is_touched(Key(row.measure_id, row.spot), touched_by, known)
    ]
    for row in rows:
        if carried:
            row.carried_from_id = row.carried_from_id or row.pk
        elif to.role == Sheet.Role.TARGET:
            row.carried_from_id = None
        row.pk, row.sheet = new_id(), to
        row._state.adding = True
    Reading.objects.bulk_create(rows)


def copy_changes(source: Sheet, to: Sheet) -> None:
    """The changes noted on `source`, onto `to`."""
    rows: QuerySet[Change] = source.changes.current()
    copies = list(rows)
    for row in copies:
        row.pk, row.sheet = new_id(), to
        row._state.adding = True
    Change.objects.bulk_create(copies)


def take_targets(baseline: Baseline, sheet: Sheet, by: User) -> None:
    """A baseline's targets as the figures of a target sheet, as the steward typed them."""
    readings, units = [], by.units(sheet.team.club.units())
    for row in baseline.values.select_related("measure"):
        if row.measure.taken != Taken.QUANTITY:
            continue
        text = same_text(row.target_typed, row.target, Kind(row.measure.kind), units=units)
        readings.append(
            Reading(
                sheet=sheet,
                team_id=sheet.team_id,
                measure=row.measure,
                spot=row.spot,
                value=row.target,
                typed=text.text,
                unit=text.unit,
                resolution=row.measure.tool_resolution or text.resolution,
                by=by,
            )
        )
    Reading.objects.bulk_create(readings)
