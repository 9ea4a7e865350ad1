"""The events that a car was entered at: asked of whoever keeps the entries, a floor above."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from itertools import chain
from uuid import UUID

from cars.models import Car
from clubsetup.site.contributions import contributed


@dataclass(frozen=True, slots=True)
class CarEvent:
    """An event on its first day, as people call it, and where its page is."""

    event: UUID
    day: date
    name: str
    url: str


Provider = Callable[[Car, date, date], list[CarEvent]]
_providers: list[Provider] = []


def collect() -> None:
    """From what the apps list as `car_events`."""
    _providers[:] = chain(*contributed("car_events"))


def car_events(car: Car, first: date, last: date) -> list[CarEvent]:
    """Those that began from the first of these days to the last, as far as the reader may see."""
    return [event for provider in _providers for event in provider(car, first, last)]
