"""A team's archive as somebody gets it, opened."""

import io
import json
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from xml.etree import ElementTree

from django.http import FileResponse

from cars.exchange.actions.exports import export_team
from cars.exchange.files.archive_json import FORMAT, VERSION
from cars.exchange.queries.archive_kinds import Section, archive_kinds
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.files import file_response
from clubsetup.printing.models import PrintJob
from clubsetup.printing.work import make_print
from teams.models import Team

SHEET = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
REFERS = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"


@dataclass(frozen=True)
class Archive:
    """Its files by name."""

    job: PrintJob
    files: dict[str, bytes]

    @property
    def data(self) -> dict[str, Any]:
        return dict(json.loads(self.files["team.json"]))

    @property
    def rows(self) -> dict[str, list[dict[str, Any]]]:
        """Every list of rows, of whichever section, by name."""
        return {n: rows for kinds in self.data["rows"].values() for n, rows in kinds.items()}

    def workbook(self) -> dict[str, list[list[str]]]:
        """The texts and numbers of each sheet, row by row."""
        return dict(_sheets(zipfile.ZipFile(io.BytesIO(self.files["team.xlsx"]))))


def archive_of(by: User, team: Team) -> Archive:
    """Asked for, made by the worker's code and fetched as that person."""
    with viewing_as(by.pk):
        job = export_team(by=by, team=team)
    make_print(job.pk)
    with viewing_as(by.pk):
        job = PrintJob.objects.select_related("stored").get(pk=job.pk)
        assert job.state == "done", job.problem
        return Archive(job, unzipped(file_response(job)))


def empty_archive(made_at: str = "2026-03-14T12:00:00Z") -> bytes:
    """The JSON of a team that has nothing."""
    nobody = {"id": "0197f000-0000-7000-8000-00000000000a", "name": "Nobody"}
    sections: dict[str, Any] = {
        section: {k.name: [] for k in archive_kinds(section)} for section in Section
    }
    club = {**nobody, "short_name": "nowhere", "time_zone": "UTC"}
    head = {"format": FORMAT, "version": VERSION, "made_at": made_at}
    people = {"made_by": nobody, "team": nobody, "club": club, "seen_as": "crew"}
    return json.dumps({**head, **people, "measures": {}, "rows": sections}).encode()


def unzipped(response: FileResponse) -> dict[str, bytes]:
    content: Any = response
    with zipfile.ZipFile(io.BytesIO(b"".join(content.streaming_content))) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def _sheets(book: zipfile.ZipFile) -> Iterator[tuple[str, list[list[str]]]]:
    links = ElementTree.fromstring(book.read("xl/_rels/workbook.xml.rels"))
    paths = {one.get("Id"): one.get("Target") for one in links}
    for one in ElementTree.fromstring(book.read("xl/workbook.xml")).iter(f"{SHEET}sheet"):
        root = ElementTree.fromstring(book.read(f"xl/{paths[one.get(REFERS)]}"))
        assert root.find(f".//{SHEET}f") is None, "a formula"
        rows = [["".join(cell.itertext()) for cell in row] for row in root.iter(f"{SHEET}row")]
        yield str(one.get("name")), rows
