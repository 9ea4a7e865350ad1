"""What a car's class asks for at the scales: asked of whoever keeps the rules, a floor above."""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from cars.models import Car


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


def provides_class_limit(provider: Provider) -> Provider:
    """Registers who knows the rules; it returns None for a car it knows nothing of."""
    if provider not in _providers:
        _providers.append(provider)
    return provider


def class_limit(car: Car) -> ClassLimit | None:
    """The first answer, or None where nobody knows: then the person writes the minimum."""
    answers = (provider(car) for provider in _providers)
    return next((limit for limit in answers if limit is not None), None)
