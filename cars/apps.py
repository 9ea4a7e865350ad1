from typing import Any

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class CarsConfig(AppConfig):
    """See this package's models."""

    name = "cars"

    def ready(self) -> None:
        """Brings in what cars can print and show at the start; keeps the catalogue up to date."""
        from cars import trail  # noqa: F401, PLC0415 (models are not loaded before)
        from cars.garage import start  # noqa: F401, PLC0415 (models are not loaded before)
        from cars.sheets import prints  # noqa: F401, PLC0415 (models are not loaded before)

        post_migrate.connect(_sync_catalogue, sender=self)


def _sync_catalogue(*, using: str, apps: Any, **_: Any) -> None:
    from cars.catalogue.sync import sync_catalogue  # noqa: PLC0415 (models are not loaded before)

    # Migrating back to nothing calls this too, when there are no tables left.
    if using == "owner" and any(model._meta.label == "cars.Measure" for model in apps.get_models()):
        sync_catalogue(using)
