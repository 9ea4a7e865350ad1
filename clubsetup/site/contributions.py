"""What an app brings to a floor below it, which may not import it.

A floor shows what higher ones bring: sections of the start page, documents to print, words of the
trail, what a class asks for. It has a word for that; each app lists under this word, in its
AppConfig, where its own stand (dotted paths, each to a list). The floor collects them when the apps
are ready, so that reading the AppConfigs tells all that is brought, and importing a module for
another reason adds nothing.
"""

from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.utils.module_loading import import_string


def contributed(word: str) -> Iterator[Any]:
    """What the apps list under `word`, lowest floor first."""
    for config in apps.get_app_configs():
        for path in getattr(config, word, ()):
            yield import_string(path)
