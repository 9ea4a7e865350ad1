"""What a car's class asks for at the scales: asked of whoever keeps the rules, a floor above."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import chain
from uuid import UUID

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
    race_class: str = ""


Provider = Callable[[Sequence[Car]], Mapping[UUID, ClassLimit]]
_providers: list[Provider] = []


def collect() -> None:
    """From what the apps list as `class_limits`."""
    _providers[:] = chain(*contributed("class_limits"))


def class_limits(cars: Sequence[Car]) -> dict[UUID, ClassLimit]:
    """The first answer for each car; none where nobody knows. As many queries for one as for
    thirty."""
    limits: dict[UUID, ClassLimit] = {}
    for provider in _providers:
        limits = {**provider(cars), **limits}
    return limits


def class_limit(car: Car) -> ClassLimit | None:
    """Of one car; None where nobody knows: then the person writes the minimum."""
    return class_limits([car]).get(car.pk)
