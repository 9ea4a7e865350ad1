"""Writes clubsetup/MODELS.md anew, from the models as they are."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

from clubsetup.runtime.model_diagram import model_diagrams


class Command(BaseCommand):
    """Needs no database."""

    help = "Draws the diagrams of the models in clubsetup/MODELS.md."

    def handle(self, *args: Any, **options: Any) -> None:
        """Writes the file, whole."""
        path = settings.BASE_DIR / "clubsetup" / "MODELS.md"
        path.write_text(model_diagrams())
        self.stdout.write(f"Drawn in {path}")
