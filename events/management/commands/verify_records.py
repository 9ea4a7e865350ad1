"""Says whether an export of an event's records is as it was written."""

from hashlib import sha256
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from clubsetup.site.counting import counted
from events.records.files.chain_file import NotRecords, RecordFile, read
from events.rules.chain import Fault


class Command(BaseCommand):
    """Needs the file alone: no database, no account."""

    help = "Checks the chain of hashes of an exported file of records."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """The file, and the hash from a record book."""
        parser.add_argument("file", type=Path)
        parser.add_argument("--printed", help="the hash printed in the event's record book")
        parser.add_argument("--photos", type=Path, help="the folder with the photos, unpacked")

    def handle(self, *args: Any, **options: Any) -> None:
        """Prints what is wrong, line by line; fails if anything is."""
        try:
            records = read(options["file"].read_text(encoding="utf-8"))
        except (OSError, UnicodeDecodeError, NotRecords) as problem:
            raise CommandError(str(problem)) from None
        wrong: list[Fault | str] = [*records.faults(options["printed"])]
        if options["photos"] is not None:
            wrong += _photo_faults(records, options["photos"])
        lines = counted(len(records.links), "line")
        for fault in wrong:
            self.stdout.write(str(fault))
        if wrong:
            raise CommandError(f"{counted(len(wrong), 'fault')} in {lines}.")
        self.stdout.write(f"{lines}, all as written. Last hash: {records.last}")
        self.stdout.write(_since(records.links, options["printed"]))
        if records.erased:
            self.stdout.write(_of_words(len(records.erased)))
        if records.photos:
            self.stdout.write(_of_photos(len(records.photos), options["photos"]))


def _photo_faults(record_file: RecordFile, folder: Path) -> list[Fault | str]:
    """What is wrong with the photos in the folder, and those that belong to no line."""
    if not folder.is_dir():
        raise CommandError(f"{folder} is no folder.")
    files = {file.name: file for file in sorted(folder.glob("*.jpg"))}
    hashes = {name: sha256(file.read_bytes()).hexdigest() for name, file in files.items()}
    strange = [f"{name}: no line names it" for name in files if name not in record_file.photos]
    return [*record_file.photo_faults(hashes), *strange]


def _of_photos(count: int, folder: Path | None) -> str:
    if folder is None:
        named = f"{counted(count, 'photo')} {'is' if count == 1 else 'are'} named in it"
        return f"{named}; give their folder to hold them to it (--photos)."
    return "1 photo, as it was kept." if count == 1 else f"{count} photos, all as they were kept."


def _of_words(count: int) -> str:
    whose = "of 1 line were" if count == 1 else f"of {count} lines were"
    return f"The words {whose} erased. Their hashes stand, and nothing else in them changed."


def _since(links: Any, printed: str | None) -> str:
    if printed is None:
        return "Compare it with the one in the record book (--printed)."
    added = 0
    for link in reversed(links):
        if link.hash == printed:
            break
        added += 1
    return (
        f"It begins with all of the printed record book; {counted(added, 'line')} "
        f"{'was' if added == 1 else 'were'} added since."
        if added
        else "It is the one printed in the record book."
    )
