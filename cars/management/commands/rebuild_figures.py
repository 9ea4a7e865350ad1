"""Computes anew what is kept of closed sheets."""

from typing import Any

from django.core.management.base import BaseCommand

from cars.catalogue.queries import catalogue
from cars.models import Car
from cars.sheets.actions.closed_figures import OWNER, rebuild_figures
from clubsetup.site.counting import counted


class Command(BaseCommand):
    """Car by car, each in a transaction of its own; as the owner, who sees every team's."""

    help = (
        "Computes anew what is kept of closed sheets, as after a release that computes otherwise."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        """Says how many sheets."""
        known = catalogue()
        cars = Car.objects.using(OWNER).order_by("pk").iterator()
        count = sum(rebuild_figures(car, known) for car in cars)
        self.stdout.write(f"Kept the figures of {counted(count, 'closed sheet')}.")
