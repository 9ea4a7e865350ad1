"""An event's records as a file with the chain of hashes, and back again: JSON.

Tables of records once held the chain too, in a column of JSON; those still verify. Today's table is
for reading (events/records/files/table.py) and holds none.
"""

import csv
import io
import json
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import IO, Any

from events.rules.chain import ChainLink, Fault, canonical, faults

# Of the tables that held the chain.
COLUMNS = ["line", "kind", "at", "class", "number", "name", "by", "record", "hash"]
# What a table for reading begins with.
FIRST_OF_TABLE = ["Number", "Name", "Class", "Record"]
HEAD, LAST = "head", "last"
PHOTO, PHOTOS = "ballast_photo", "photos"


class NotRecords(ValueError):
    """A file that is no export of records; the text says why."""


@dataclass(frozen=True)
class RecordFile:
    head: Mapping[str, Any]
    links: list[ChainLink]
    last: str
    # What stands beside a record and says something else than the record itself.
    misread: list[Fault]

    def faults(self, printed: str | None = None) -> list[Fault]:
        """Everything that is wrong with it."""
        chain_faults = faults(self.head, self.links, last=self.last, printed=printed)
        return sorted([*chain_faults, *self.misread], key=lambda fault: fault.line)

    @property
    def photos(self) -> dict[str, ChainLink]:
        """The lines that name a photo, by the name of its file."""
        photos = (link for link in self.links if link.record.get("kind") == PHOTO)
        return {photo_name(link.record.get("id")): link for link in photos}

    @property
    def erased(self) -> list[ChainLink]:
        """The lines whose words were erased: their hashes stand."""
        return [link for link in self.links if link.is_erased]

    def photo_faults(self, hashes: Mapping[str, str]) -> list[Fault]:
        """What is wrong with the photos beside it: the SHA-256 of each by the name of its file."""
        return [
            Fault(link.number or 0, "its photo was altered" if name in hashes else "has no photo")
            for name, link in self.photos.items()
            if hashes.get(name) != link.record.get("sha256")
        ]


def as_json(head: Mapping[str, Any], links: Iterable[ChainLink], shown: Any, last: str) -> str:
    """One object; every record on a line of its own, as it was hashed, so that people can read and
    compare it."""
    lines = ",\n".join(
        f'{{"record":{link.text},{_words(link)}"hash":"{link.hash}",'
        f'"shown":{canonical(shown(link))}}}'
        for link in links
    )
    return f'{{"head":{canonical(head)},\n"records":[\n{lines}\n],\n"last":"{last}"}}\n'


def _words(link: ChainLink) -> str:
    return "" if link.words is None else f'"words":{canonical(link.words)},'


def photo_name(photo_id: object) -> str:
    """The name of a photo's file: by its record, so that the two can be held together."""
    return f"{photo_id}.jpg"


def write_zip(
    to: IO[bytes], texts: Mapping[str, str], photos: Iterable[tuple[object, bytes]]
) -> None:
    """The files of records (text by kind) and a folder with the photos that they name."""
    with zipfile.ZipFile(to, "w") as packed:
        for kind, text in texts.items():
            packed.writestr(zipfile.ZipInfo(f"records.{kind}"), text, zipfile.ZIP_DEFLATED)
        for photo_id, picture in photos:
            packed.writestr(zipfile.ZipInfo(f"{PHOTOS}/{photo_name(photo_id)}"), picture)


def read(text: str) -> RecordFile:
    """A file of today or of before. Raises NotRecords."""
    text = text.removeprefix("\ufeff")
    try:
        return _from_json(text) if text.lstrip().startswith("{") else _from_csv(text)
    except (KeyError, TypeError, IndexError, AttributeError, ValueError, csv.Error) as problem:
        if isinstance(problem, NotRecords):
            raise
        raise NotRecords(f"This is no export of records: {problem}") from problem


def _from_json(text: str) -> RecordFile:
    whole = json.loads(text)
    links = [
        ChainLink(dict(one["record"]), str(one["hash"]), words=one.get("words"))
        for one in whole["records"]
    ]
    return RecordFile(dict(whole["head"]), links, str(whole["last"]), [])


def _from_csv(text: str) -> RecordFile:
    rows = list(csv.reader(io.StringIO(text, newline="")))
    if rows and rows[0][: len(FIRST_OF_TABLE)] == FIRST_OF_TABLE:
        raise NotRecords("This is the table for reading. Give the JSON file: it holds the chain.")
    if not rows or rows[0] != COLUMNS:
        raise NotRecords("This is no export of records: the columns are others.")
    head: Mapping[str, Any] | None = None
    last, links, misread = "", list[ChainLink](), list[Fault]()
    for row in rows[1:]:
        if len(row) != len(COLUMNS):
            raise NotRecords(f"A line has {len(row)} columns where {len(COLUMNS)} belong.")
        if row[0] == HEAD:
            head = json.loads(row[7])
        elif row[0] == LAST:
            last = row[8]
        else:
            links.append(ChainLink(dict(json.loads(row[7])), row[8]))
            misread += _mismatches(row, links[-1])
    if head is None:
        raise NotRecords("The line that says what these records are of is missing.")
    return RecordFile(head, links, last, misread)


def _mismatches(row: list[str], link: ChainLink) -> list[Fault]:
    """The columns that repeat what the record says."""
    expected = (str(link.number), link.record.get("kind"), link.record.get("created_at"))
    if tuple(row[:3]) == expected:
        return []
    return [Fault(link.number or 0, "line, kind or time was altered beside the record")]
