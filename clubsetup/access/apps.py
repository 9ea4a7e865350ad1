from django.apps import AppConfig


class AccessConfig(AppConfig):
    """Who is looking, what they may see, and what was done."""

    name = "clubsetup.access"
    label = "access"

    def ready(self) -> None:
        """Comes before the framework's own, which then finds its place taken."""
        from clubsetup.access import notices_of, people, signed_in  # noqa: PLC0415 (need the models)
        from clubsetup.access.api import schema  # noqa: F401, PLC0415 (the library finds subclasses)

        notices_of.connect()
        signed_in.connect()
        people.connect()
