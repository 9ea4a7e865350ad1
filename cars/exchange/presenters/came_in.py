"""What came in with an archive, as its page shows it."""

from dataclasses import dataclass

from cars.models import ImportedArchive


@dataclass(frozen=True)
class CameIn:
    """How many rows of each kind, by their names for a reader; added, and only attached."""

    added: list[tuple[str, int]]
    attached: list[tuple[str, int]]


def came_in(archive: ImportedArchive) -> CameIn:
    """Counted from what is kept of it."""
    return CameIn(
        [(_name(kind), len(ids)) for kind, ids in archive.source_ids.items() if ids],
        [(_name(kind), len(rows)) for kind, rows in archive.attached["record"].items() if rows],
    )


def _name(kind: str) -> str:
    return kind.replace("_", " ")
