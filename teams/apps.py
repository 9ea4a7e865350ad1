from django.apps import AppConfig


class TeamsConfig(AppConfig):
    """See this package's models."""

    name = "teams"

    def ready(self) -> None:
        """Registers what this room brings to the start page."""
        import teams.start  # noqa: F401, PLC0415 (it needs the models loaded)
