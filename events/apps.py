from django.apps import AppConfig


class EventsConfig(AppConfig):
    """See this package's models."""

    name = "events"

    def ready(self) -> None:
        """Registers what this room brings to the start page and says in the trail."""
        # Models are not loaded before.
        from events import class_limits, start, trail  # noqa: F401, PLC0415
