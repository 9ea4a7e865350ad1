"""What came in with an archive, as its page shows it."""

from collections.abc import Mapping, Sized
from dataclasses import dataclass

from cars.exchange.queries.archive_kinds import Section, archive_kinds
from cars.models import ImportedArchive


@dataclass(frozen=True)
class CameIn:
    """How many rows of each kind, by their names for a reader; added, and only attached."""

    added: list[tuple[str, int]]
    attached: list[tuple[str, int]]


def came_in(archive: ImportedArchive) -> CameIn:
    """Counted from what is kept of it, in the order of an archive."""
    return CameIn(_counted(archive.source_ids), _counted(archive.attached["record"]))


def _counted(kept: Mapping[str, Sized]) -> list[tuple[str, int]]:
    known = [kind.name for section in Section for kind in archive_kinds(section)]
    return [
        (name.replace("_", " ").capitalize(), len(kept[name])) for name in known if kept.get(name)
    ]
