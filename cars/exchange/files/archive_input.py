"""A team's archive that comes in: read, held to the published schema, and to itself."""

import functools
import hashlib
import json
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import IO, Any

from django.db.models import ForeignKey
from jsonschema import Draft202012Validator

from cars.exchange.files.archive_json import FILE, FORMAT, VERSION
from cars.exchange.files.archive_schema import published_schema
from cars.exchange.queries.archive_kinds import ArchiveKind, Section, archive_kinds, measure_units
from clubsetup.access.errors import Invalid

FIELD = "file"
# Of the JSON, through pages and API: three seasons of two cars are half of it.
MOST_BYTES = 16 * 1024 * 1024
# Up to here it comes in while one waits; above, in the background.
IN_THE_REQUEST = 1024 * 1024
Rows = list[dict[str, Any]]


@dataclass(frozen=True)
class ArchiveInput:
    """What came in, as its schema says; every row it points at within the team is in it."""

    data: dict[str, Any]
    digest: str

    def rows(self, kind: ArchiveKind) -> Rows:
        """Its rows of one kind."""
        found: Rows = self.data["rows"][kind.section][kind.name]
        return found

    @property
    def people(self) -> dict[str, str]:
        """Names by id."""
        return {one["id"]: one["name"] for one in self.data["rows"][Section.CLUB]["people"]}

    def name_of(self, kind_name: str, pk: str | None) -> str:
        """What a thing of the club's is called there; empty where it is none."""
        rows: Rows = self.data["rows"][Section.CLUB][kind_name]
        return next((one["name"] for one in rows if one["id"] == pk), "")


def read_archive(file: IO[bytes], most_bytes: int | None = MOST_BYTES) -> ArchiveInput:
    """The archive (the ZIP, or its `team.json` alone). Raises Invalid with what is wrong in it."""
    return archive_in(json_of(file, most_bytes))


def archive_in(content: bytes) -> ArchiveInput:
    """The same of its JSON."""
    try:
        data = json.loads(content, parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise Invalid(FIELD, "This is no JSON. Choose the archive as it was downloaded.") from None
    _check_format(data)
    _check_schema(data)
    archive = ArchiveInput(data, hashlib.sha256(content).hexdigest())
    _check_references(archive)
    return archive


def json_of(file: IO[bytes], most_bytes: int | None = MOST_BYTES) -> bytes:
    """The JSON in a ZIP, or the file itself; nothing of it is read yet."""
    file.seek(0)
    if not zipfile.is_zipfile(file):
        file.seek(0)
        return _at_most(file, most_bytes)
    file.seek(0)
    try:
        with zipfile.ZipFile(file) as archive, archive.open(FILE) as inside:
            return _at_most(inside, most_bytes)
    except (KeyError, zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError):
        message = f"There is no {FILE} in this ZIP. Choose the archive as it was downloaded."
        raise Invalid(FIELD, message) from None


def _at_most(file: IO[bytes], most_bytes: int | None) -> bytes:
    if most_bytes is None:
        return file.read()
    content = file.read(most_bytes + 1)
    if len(content) > most_bytes:
        raise Invalid(
            FIELD,
            f"Its {FILE} is larger than {most_bytes // 2**20} MB. Ask whoever runs this service to "
            "bring it in with `manage.py import_archive`.",
        )
    return content


def _no_number(name: str) -> None:
    raise ValueError(f"{name} is no number")


def _check_format(data: Any) -> None:
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise Invalid(
            FIELD, "This is no archive of a team. Choose the archive as it was downloaded."
        )
    if data.get("version") != VERSION:
        raise Invalid(
            FIELD,
            f"This archive has version {data.get('version')!s:.10}; this service reads {VERSION}. "
            "Bring the older of the two services up to date.",
        )


@functools.cache
def _validator() -> Draft202012Validator:
    schema = json.loads(published_schema())
    return Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER)


def _check_schema(data: Mapping[str, Any]) -> None:
    error = next(_validator().iter_errors(data), None)
    if error is not None:
        where = error.json_path.removeprefix("$.")
        raise Invalid(
            FIELD, f"The archive is not as its schema says, at {where}: {error.message:.200}"
        )


def _check_references(archive: ArchiveInput) -> None:
    """Each id is there once, and each row of the team's that is pointed at is there."""
    there: dict[Any, set[str]] = {}
    for kind in _kinds():
        ids = [row["id"] for row in archive.rows(kind)]
        if len(set(ids)) < len(ids):
            raise Invalid(FIELD, f"The archive has a row of {kind.name} twice.")
        there[kind.model] = set(ids)
    measures = set(measure_units())
    for kind in archive_kinds(Section.TEAM):
        for column in kind.columns:
            if not isinstance(column, ForeignKey):
                continue
            wanted = {row[column.name] for row in archive.rows(kind)} - {None}
            known = (
                measures if column.name == "measure" else there.get(column.related_model, wanted)
            )
            if missing := wanted - known:
                raise Invalid(
                    FIELD,
                    f"A row of {kind.name} points at {column.name} {min(missing):.60}, which is "
                    "neither in the archive nor here.",
                )


def _kinds() -> Iterator[ArchiveKind]:
    for section in (Section.TEAM, Section.CLUB):
        yield from archive_kinds(section)
