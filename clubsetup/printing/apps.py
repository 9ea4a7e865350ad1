from django.apps import AppConfig


class PrintingConfig(AppConfig):
    """Documents, print jobs and stored prints."""

    name = "clubsetup.printing"
    label = "printing"

    def ready(self) -> None:
        """Collects the documents that the apps bring."""
        from clubsetup.printing import registry  # noqa: PLC0415 (it needs the models)

        registry.collect()
