"""What of an archive is there to be read alone, and where it came from."""

from uuid import UUID

from cars.exchange.files.archive_input import ArchiveInput, Rows
from cars.exchange.queries.archive_kinds import CLUB_KINDS, Section, archive_kinds
from cars.models import ImportedArchive
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from teams.models import Team


def attach(
    archive: ArchiveInput,
    team: Team,
    *,
    by: User | None,
    using: str,
    source_ids: dict[str, dict[str, str]],
    and_rows: dict[str, Rows],
    archive_id: UUID | None = None,
) -> ImportedArchive:
    """Notes where it is from, with what of it is there to read alone."""
    data = archive.data
    record = {**data["rows"][Section.RECORD], **and_rows}
    events = {
        kind.name: archive.rows(kind)
        for kind in archive_kinds(Section.CLUB)
        if kind not in CLUB_KINDS
    }
    return ImportedArchive.objects.using(using).create(
        pk=archive_id or new_id(),
        team=team,
        by=by,
        digest=archive.digest,
        source_team=data["team"]["name"],
        source_club=data["club"]["name"],
        made_at=data["made_at"],
        source_ids=source_ids,
        attached={"people": archive.people, "record": {**record, **events}},
    )
