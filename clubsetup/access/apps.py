from django.apps import AppConfig


class AccessConfig(AppConfig):
    """Who is looking, what they may see, and what was done."""

    name = "clubsetup.access"
    label = "access"

    def ready(self) -> None:
        """Listens to what changes of how people sign in."""
        from clubsetup.access import notices_of, signed_in  # noqa: F401, PLC0415 (need the models)
