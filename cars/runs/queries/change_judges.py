"""What the class's rules would say of a change: asked of whoever keeps the rules, a floor above."""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import chain
from typing import Protocol

from cars.catalogue.keys import Key
from cars.figures.derived import Figure
from cars.models import Sheet
from cars.runs.queries.moved_ballast import PieceAt
from clubsetup.quantities.units import Units
from clubsetup.site.contributions import contributed


class RuleOutcome(StrEnum):
    """What one rule says of a car as it would be."""

    MEETS = "meets"
    FAILS = "fails"
    TOO_CLOSE = "too close to call"
    NOT_SAID = "cannot be said"


@dataclass(frozen=True, slots=True)
class RuleThen:
    """One rule in words, what it would say, and why.

    `leaves`: it fails, and would not without the change, or by less.
    """

    words: str
    outcome: RuleOutcome
    sentence: str
    leaves: bool = False


@dataclass(frozen=True, slots=True)
class CarThen:
    """A car's figures as they would be, by box, canonical.

    `moved` are the measures that a change moves, `unknown` those that it touches and that only
    reading tells. `pieces` of ballast, where a change moves any: as they would be.
    """

    figures: Mapping[Key, Figure]
    moved: Collection[str] = field(default_factory=frozenset)
    unknown: Collection[str] = field(default_factory=frozenset)
    pieces: Sequence[PieceAt] | None = None


class ClassJudge(Protocol):
    """The rules that a car is held to, read once and asked often."""

    def rules_then(self, then: CarThen) -> list[RuleThen]:
        """Every rule that looks at something the change touches."""

    def failing_now(self) -> list[RuleThen]:
        """Every rule that the car fails as it stands."""


Provider = Callable[[Sheet, Mapping[Key, Figure], Units], ClassJudge | None]
_providers: list[Provider] = []


def collect() -> None:
    """From what the apps list as `change_judges`."""
    _providers[:] = chain(*contributed("change_judges"))


def class_judge(sheet: Sheet, figures: Mapping[Key, Figure], units: Units) -> ClassJudge | None:
    """The first that knows rules for the sheet's car, which stands by these figures; None where
    nobody does."""
    for provider in _providers:
        judge = provider(sheet, figures, units)
        if judge is not None:
            return judge
    return None
