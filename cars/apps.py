from django.apps import AppConfig


class CarsConfig(AppConfig):
    """See this package's models."""

    name = "cars"
