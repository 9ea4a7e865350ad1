"""What officials and stewards take away: brought by the app that keeps the record."""

from collections.abc import Callable, Iterator
from itertools import chain
from typing import NamedTuple

from clubsetup.access.models import User
from clubsetup.site.contributions import contributed


class RecordExport(NamedTuple):
    """An official record: what it is of, and the page on which it is taken away."""

    says: str
    url: str
    fact: str


Provider = Callable[[User], list[RecordExport]]

_providers: list[Provider] = []


def collect() -> None:
    """From what the apps list as `record_exports`."""
    _providers[:] = chain(*contributed("record_exports"))


def record_exports(viewer: User) -> Iterator[RecordExport]:
    """Those that the viewer may take away, the newest first; empty for whoever is no official."""
    for provider in _providers:
        yield from provider(viewer)
