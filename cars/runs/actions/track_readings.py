"""What is read off the car again at the track."""

from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType
from uuid import UUID

from cars.catalogue.keys import Key
from cars.catalogue.queries import catalogue
from cars.models import Sheet, TrackReading
from cars.models.catalogue import Taken
from cars.permissions import check_can_write_sheet
from cars.runs.actions.at_track import held_set_sheet, time_at_track
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.reading import Typed


@action
def take_track_readings(
    *,
    by: User,
    sheet: Sheet,
    readings: Mapping[Key, Typed],
    taken_at: datetime | None = None,
    ids: Mapping[Key, UUID] = MappingProxyType({}),
) -> list[TrackReading]:
    """Weighed or measured again between two runs; the sheet as set stays as it is.

    One that was taken before stays too: what stands is the newest. `ids`: of the new readings,
    where whoever sends them made some.
    """
    check_can_write_sheet(by, sheet)
    sheet = held_set_sheet(sheet)
    known = catalogue()
    for key in readings:
        measure = known.measures.get(key.measure)
        if measure is None or measure.taken != Taken.QUANTITY or key.spot not in measure.spots:
            raise Invalid(str(key), "This is not read off the car.")
    if not readings:
        raise Invalid("readings", "Write what was read.")
    at = time_at_track("taken_at", taken_at)
    rows = TrackReading.objects.bulk_create(
        TrackReading(
            pk=ids.get(key) or new_id(),
            sheet=sheet,
            team_id=sheet.team_id,
            measure_id=key.measure,
            spot=key.spot,
            value=typed.value,
            typed=typed.text,
            unit=typed.unit,
            resolution=typed.resolution,
            taken_at=at,
            by=by,
        )
        for key, typed in readings.items()
    )
    record(
        by=by,
        did="read_at_track",
        on=sheet,
        team_id=sheet.team_id,
        boxes=[str(key) for key in readings],
    )
    return rows
