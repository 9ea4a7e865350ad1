"""Brings a team's archive in with the ids it had, into one of the clubs of this service."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from cars.exchange.actions.archive_restore import OWNER, restore_archive
from cars.exchange.files.archive_input import read_archive
from clubsetup.access.errors import Invalid
from teams.models import Club


class Command(BaseCommand):
    """All of it or nothing; as the owner, for whoever runs the service."""

    help = (
        "Brings a team's archive (the ZIP, or its team.json) in with the same ids. Refused whole "
        "where one of them is taken. Then a steward of the club invites the team's chief."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """The file, and the club."""
        parser.add_argument("file", type=Path)
        parser.add_argument("--club", required=True, help="The short name of a club here.")

    def handle(self, *args: Any, file: Path, club: str, **options: Any) -> None:
        """Says what came in."""
        into = Club.objects.using(OWNER).filter(short_name=club).first()
        if into is None:
            names = Club.objects.using(OWNER).order_by("short_name")
            known = ", ".join(names.values_list("short_name", flat=True))
            raise CommandError(f"There is no club {club} here. There are: {known or 'none'}.")
        try:
            with file.open("rb") as content:
                archive = read_archive(content, most_bytes=None)
            team = restore_archive(archive, into)
        except OSError as problem:
            raise CommandError(f"{file} cannot be read: {problem.strerror}.") from problem
        except Invalid as refusal:
            raise CommandError(refusal.message) from refusal
        self.stdout.write(
            f"{team.name} is a team of {into.name} now. A steward of the club invites its chief."
        )
