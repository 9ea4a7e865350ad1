"""An archive too large to wait for: kept as it was sent, brought in by the worker."""

import hashlib
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from cars.exchange.actions.archive_import import import_archive
from cars.exchange.actions.import_sending import send
from cars.exchange.files.archive_input import FIELD, archive_in
from cars.exchange.queries.import_names import kept_name
from cars.models import Import
from cars.permissions import check_can_import_archive
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.limits import count_against_limit
from clubsetup.access.models import User
from teams.models import Team


@action
def begin_archive(
    *, by: User, team: Team, file_name: str, content: bytes, import_id: UUID | None = None
) -> Import:
    """Keeps an archive's JSON for the worker, which reads it, and brings it in whole or not."""
    check_can_import_archive(by, team)
    count_against_limit(by, "imports")
    try:
        text = content.decode()
    except UnicodeDecodeError:
        text = ""
    if not text or "\0" in text:
        raise Invalid(FIELD, "This is no JSON. Choose the archive as it was downloaded.")
    row = Import.objects.create(
        pk=import_id or new_id(),
        team=team,
        by=by,
        kind=Import.Kind.ARCHIVE,
        file_name=kept_name(file_name),
        digest=hashlib.sha256(content).hexdigest(),
        cells=text,
        rows=content.count(b'"id":'),
        state=Import.State.WAITING,
        confirmed_at=timezone.now(),
        confirmed_by=by,
    )
    record(by=by, did="confirmed", on=row, team_id=team.pk, rows=row.rows)
    transaction.on_commit(lambda: send(row.pk))
    return row


def bring_archive_in(by: User, row: Import) -> int:
    """All of it; how many rows. Raises Invalid with what is wrong in it."""
    imported = import_archive(by=by, team=row.team, archive=archive_in(row.cells.encode()))
    return sum(map(len, imported.source_ids.values()))
