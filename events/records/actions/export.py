"""Taking an event's records away as a file; the trail says who did, and at which hash."""

from typing import IO

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.limits import count_against_limit
from clubsetup.access.models import User
from events.models import Event
from events.permissions import check_can_enter_walk_in
from events.records.files.chain_file import as_json, write_zip
from events.records.files.table import as_table
from events.records.queries.records import Records, photos_of, records_of

KINDS = ("csv", "json")


@action
def export_records(*, by: User, event: Event, kind: str) -> str:
    """The text of the file: 'json', which can be verified, or 'csv', which can be read. For
    officials and stewards of the club."""
    check_can_enter_walk_in(by, event)
    count_against_limit(by, "exports")
    if kind not in KINDS:
        raise Invalid("kind", "Choose csv or json.")
    records = records_of(event)
    _say(by, event, records, kind)
    return _written(by, event, records, kind)


@action
def export_with_photos(*, by: User, event: Event, to: IO[bytes]) -> None:
    """Both files and the photos that they name, packed into one: for the same people."""
    check_can_enter_walk_in(by, event)
    count_against_limit(by, "exports")
    records = records_of(event)
    _say(by, event, records, "zip")
    photos = ((photo.pk, bytes(photo.picture)) for photo in photos_of(event))
    write_zip(to, {kind: _written(by, event, records, kind) for kind in KINDS}, photos)


def _written(by: User, event: Event, records: Records, kind: str) -> str:
    if kind == "csv":
        return as_table(records, by.units(event.club.units()), event.club.zone())
    return as_json(records.head, records.links, records.shown, records.last_hash)


def _say(by: User, event: Event, records: Records, kind: str) -> None:
    record(
        by=by,
        did="exported",
        on=event,
        club_id=event.club_id,
        lines=len(records.links),
        last_hash=records.last_hash,
        file=kind,
    )
