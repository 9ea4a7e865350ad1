from django.apps import AppConfig


class TeamsConfig(AppConfig):
    """See this package's models."""

    name = "teams"
    start_sections = ("teams.start.SECTIONS",)
    trail_words = ("teams.trail.WORDS",)

    def ready(self) -> None:
        """Collects what the apps bring to the start page and tell in the trail."""
        from clubsetup.site import start_sections  # noqa: PLC0415 (they need the models)
        from teams import idle  # noqa: PLC0415
        from teams.presenters import driver_links, driver_sections, trail  # noqa: PLC0415

        start_sections.collect()
        trail.collect()
        driver_sections.collect()
        driver_links.collect()
        idle.connect()
