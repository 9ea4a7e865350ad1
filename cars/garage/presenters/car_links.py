"""Where a car's page leads besides its own rooms: what slices and apps above bring."""

from collections.abc import Callable
from itertools import chain
from typing import Any, NamedTuple

from cars.models import Car
from clubsetup.access.errors import is_allowed
from clubsetup.access.models import User
from clubsetup.site.contributions import contributed


class CarLink(NamedTuple):
    """`address` is the name of a page that takes the car's id; `check` is what it asks of the
    reader and the car's team, where not everybody who reads the car may open it."""

    says: str
    address: str
    check: Callable[..., Any] | None = None


_known: list[CarLink] = []


def collect() -> None:
    """From what the apps list as `car_links`."""
    _known[:] = chain(*contributed("car_links"))


def car_links(car: Car, by: User) -> list[CarLink]:
    """Those that this person may follow, in the order of the floors."""
    return [link for link in _known if link.check is None or is_allowed(link.check, by, car.team)]
