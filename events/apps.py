from django.apps import AppConfig


class EventsConfig(AppConfig):
    """See this package's models."""

    name = "events"
