from django.apps import AppConfig


class TeamsConfig(AppConfig):
    """See this package's models."""

    name = "teams"
