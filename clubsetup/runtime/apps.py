from django.apps import AppConfig


class RuntimeConfig(AppConfig):
    """Starts and stops the parts of the service, and loads the Celery application."""

    name = "clubsetup.runtime"
    label = "runtime"

    def ready(self) -> None:
        """Tasks are sent through this application from every process."""
        import clubsetup.celery  # noqa: F401, PLC0415
        from clubsetup.runtime import prepared  # noqa: PLC0415

        prepared.connect()
