from django.apps import AppConfig


class TeamsConfig(AppConfig):
    """See this package's models."""

    name = "teams"

    def ready(self) -> None:
        """Registers what this room brings to the start page and to sign-in."""
        import teams.idle  # noqa: PLC0415
        import teams.start  # noqa: F401, PLC0415 (they need the models loaded)
