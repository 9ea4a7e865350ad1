"""Writes the published schema of a team's archive anew, after a model has changed."""

from typing import Any

from django.core.management.base import BaseCommand

from cars.exchange.files.archive_schema import PATH, schema_text


class Command(BaseCommand):
    """See the module. A change that a reader would notice is a new version of the format."""

    help = "Write the schema of a team's archive as the models have it now."

    def handle(self, *_: Any, **__: Any) -> None:
        """Writes the file."""
        PATH.write_text(schema_text())
        self.stdout.write(f"{PATH}")
