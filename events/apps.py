from django.apps import AppConfig


class EventsConfig(AppConfig):
    """See this package's models."""

    name = "events"

    def ready(self) -> None:
        """Registers what this room brings to the start page and says in the trail."""
        # Models are not loaded before.
        from events import start, trail  # noqa: F401, PLC0415
        from events.queries import class_limits  # noqa: F401, PLC0415
