"""Registered so that its static files are found; it has no tables."""

from django.apps import AppConfig


class OfflineConfig(AppConfig):
    """The outbox of every page."""

    name = "clubsetup.offline"
    label = "offline"
