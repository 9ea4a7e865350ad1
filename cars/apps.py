from typing import Any

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class CarsConfig(AppConfig):
    """See this package's models."""

    name = "cars"
    documents = (
        "cars.sheets.prints.DOCUMENTS",
        "cars.bench.prints.DOCUMENTS",
        "cars.runs.prints.DOCUMENTS",
        "cars.history.prints.DOCUMENTS",
        "cars.handover.prints.DOCUMENTS",
        "cars.exchange.prints.DOCUMENTS",
    )
    archive_kinds = ("cars.exchange.queries.archive_kinds.KINDS",)
    start_sections = ("cars.start.SECTIONS",)
    trail_words = ("cars.trail.WORDS",)
    car_links = (
        "cars.runs.presenters.car_links.CAR_LINKS",
        "cars.history.presenters.car_links.CAR_LINKS",
        "cars.handover.presenters.car_links.CAR_LINKS",
        "cars.exchange.presenters.import_links.CAR_LINKS",
    )
    driver_links = ("cars.history.presenters.driver_links.DRIVER_LINKS",)
    sent_again = ("cars.exchange.actions.import_sending.SENT_AGAIN",)
    car_sections = ("cars.history.presenters.car_sections.CAR_SECTIONS",)
    part_notes = ("cars.history.presenters.parts_life.PART_NOTES",)
    figures_at_track = ("cars.runs.queries.car_now.FIGURES_AT_TRACK",)
    next_steps = ("cars.garage.presenters.work_steps.NEXT_STEPS",)

    def ready(self) -> None:
        """Collects what apps above bring, and keeps the catalogue up to date."""
        from cars.bench.presenters import car_sections  # noqa: PLC0415 (needs the models)
        from cars.exchange.presenters import record_exports  # noqa: PLC0415
        from cars.exchange.queries import archive_kinds  # noqa: PLC0415
        from cars.garage.presenters import (  # noqa: PLC0415 (need the models)
            car_links,
            next_steps,
            part_notes,
        )
        from cars.history.queries import car_events  # noqa: PLC0415
        from cars.plans.queries import class_limits  # noqa: PLC0415
        from cars.runs.queries import change_judges, entries_of_cars, run_entries  # noqa: PLC0415
        from cars.sheets.queries import at_track  # noqa: PLC0415

        archive_kinds.collect()
        record_exports.collect()
        class_limits.collect()
        next_steps.collect()
        car_links.collect()
        part_notes.collect()
        car_sections.collect()
        run_entries.collect()
        car_events.collect()
        entries_of_cars.collect()
        at_track.collect()
        change_judges.collect()
        post_migrate.connect(_sync_catalogue, sender=self)


def _sync_catalogue(*, using: str, apps: Any, **_: Any) -> None:
    from cars.catalogue.sync import sync_catalogue  # noqa: PLC0415 (models are not loaded before)

    # Migrating back to nothing calls this too, when there are no tables left.
    there = {model._meta.label for model in apps.get_models()}
    if using == "owner" and {"cars.Measure", "cars.ClosedFigures"} <= there:
        sync_catalogue(using)
