from django.apps import AppConfig


class AccessConfig(AppConfig):
    """Who is looking, what they may see, and what was done."""

    name = "clubsetup.access"
    label = "access"

    def ready(self) -> None:
        """Comes before the framework's own, which then finds its place taken."""
        from clubsetup.access import people  # noqa: PLC0415  # it needs the models

        people.connect()
