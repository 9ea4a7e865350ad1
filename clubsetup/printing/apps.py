from django.apps import AppConfig
from django.utils.module_loading import autodiscover_modules


class PrintingConfig(AppConfig):
    """Documents, print jobs and stored prints."""

    name = "clubsetup.printing"
    label = "printing"

    def ready(self) -> None:
        """Every app may bring documents in its prints.py."""
        autodiscover_modules("prints")
