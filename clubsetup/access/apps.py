from django.apps import AppConfig


class AccessConfig(AppConfig):
    """Who is looking, what they may see, and what was done."""

    name = "clubsetup.access"
    label = "access"
