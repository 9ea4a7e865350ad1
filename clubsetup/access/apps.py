from django.apps import AppConfig


class AccessConfig(AppConfig):
    """Who is looking, what they may see, and what was done."""

    name = "clubsetup.access"
    label = "access"

    def ready(self) -> None:
        """Comes before the framework's own, which then finds its place taken."""
        from clubsetup.access import (  # noqa: PLC0415 (they need the models)
            account_notices,  # noqa: F401
            people,
            sign_ins,  # noqa: F401
        )

        people.connect()
