"""What a car's class asks for at the scales: asked of whoever keeps the rules, a floor above."""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from itertools import chain

from cars.models import Car
from clubsetup.site.contributions import contributed


@dataclass(frozen=True, slots=True)
class ClassLimit:
    """What a car's class asks for at the scales, kg, and where that is written.

    None where the class asks for nothing of the kind.
    """

    minimum: Decimal | None
    words: str
    largest_piece: Decimal | None = None


Provider = Callable[[Car], ClassLimit | None]
_providers: list[Provider] = []


def collect() -> None:
    """From what the apps list as `class_limits`."""
    _providers[:] = chain(*contributed("class_limits"))


def class_limit(car: Car) -> ClassLimit | None:
    """The first answer, or None where nobody knows: then the person writes the minimum."""
    answers = (provider(car) for provider in _providers)
    return next((limit for limit in answers if limit is not None), None)
