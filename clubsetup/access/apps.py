from django.apps import AppConfig


class AccessConfig(AppConfig):
    """Who is looking, what they may see, and what was done."""

    name = "clubsetup.access"
    label = "access"

    def ready(self) -> None:
        """Connects what is told of sign-ins; `people` comes before the framework's own, which then
        finds its place taken."""
        from clubsetup.access import (  # noqa: PLC0415 (they need the models)
            account_notices,
            devices,
            idle_sessions,
            people,
            sign_ins,
        )
        from clubsetup.access.api import schema  # noqa: F401, PLC0415 (the library finds subclasses)

        for module in (account_notices, sign_ins, idle_sessions, devices):
            module.connect()
        people.connect()
