from django.apps import AppConfig


class EventsConfig(AppConfig):
    """See this package's models."""

    name = "events"

    def ready(self) -> None:
        """Registers what this room brings to the start page."""
        import events.start  # noqa: F401, PLC0415 (it needs the models loaded)
