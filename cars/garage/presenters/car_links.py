"""Where a car's page leads besides its own rooms: what slices and apps above bring."""

from itertools import chain
from typing import NamedTuple

from clubsetup.site.contributions import contributed


class CarLink(NamedTuple):
    """`address` is the name of a page that takes the car's id."""

    says: str
    address: str


_known: list[CarLink] = []


def collect() -> None:
    """From what the apps list as `car_links`."""
    _known[:] = chain(*contributed("car_links"))


def car_links() -> list[CarLink]:
    """All of them, in the order of the floors."""
    return list(_known)
