"""Where a driver's page leads besides: what apps above bring, for the crew and the coach."""

from itertools import chain
from typing import NamedTuple

from clubsetup.site.contributions import contributed


class DriverLink(NamedTuple):
    """`address` is the name of a page that takes the driver's id."""

    says: str
    address: str


_known: list[DriverLink] = []


def collect() -> None:
    """From what the apps list as `driver_links`."""
    _known[:] = chain(*contributed("driver_links"))


def driver_links() -> list[DriverLink]:
    """All of them, in the order of the floors."""
    return list(_known)
