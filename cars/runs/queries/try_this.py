"""Suggestions for one car: what each comes to, which pull against each other, and their order."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import combinations
from typing import NamedTuple

from cars.catalogue.keys import Key
from cars.figures.judgement import Judgement
from cars.models import Suggestion
from cars.runs.queries.change_judges import RuleThen
from cars.runs.queries.predicted_changes import PredictedChange
from cars.runs.queries.suggestions import PLACES, Felt, level
from cars.runs.queries.trials import NEVER, Spot, Tries

OPPOSITE = {"pushes": "loose", "loose": "pushes"}
# Entry and exit first: that is what a crew has most often.
PAIRS = sorted(combinations(PLACES, 2), key=lambda pair: pair != ("entry", "exit"))


@dataclass(frozen=True, slots=True)
class LeftTolerance:
    """A figure that a change takes out of its tolerance, or so near that nobody can tell."""

    key: Key
    judgement: Judgement
    tolerance: Decimal

    @property
    def over(self) -> Decimal:
        """How far outside it is, canonical."""
        return abs(self.judgement.miss) - self.tolerance


@dataclass(frozen=True, slots=True)
class TryThis:
    """One suggestion for this car.

    `rows` are the suggestions that say the same, for other places too, the first one first.
    `is_opposed`: the opposite is suggested as well, for something else that is felt. `alone`: the
    one place that it acts on, where two pull against each other.
    """

    rows: tuple[Suggestion, ...]
    predicted: PredictedChange
    rules: tuple[RuleThen, ...] = ()
    off: tuple[LeftTolerance, ...] = ()
    close: tuple[LeftTolerance, ...] = ()
    tries: Tries = NEVER
    is_opposed: bool = False
    alone: str = ""

    @property
    def row(self) -> Suggestion:
        """What is done, and who suggests it."""
        return self.rows[0]

    @property
    def leaves(self) -> list[RuleThen]:
        """Rules that it would break, or break further."""
        return [rule for rule in self.rules if rule.leaves]

    @property
    def is_out(self) -> bool:
        """Struck out: it would leave a limit or a tolerance, or cannot be turned at all."""
        return bool(self.off or self.leaves or self.predicted.refused)

    @property
    def rank(self) -> "Rank":
        """Its place in the order."""
        for_it = self.tries.for_it
        return Rank(
            is_out=self.is_out,
            record=(for_it < 0) - (for_it > 0),
            is_opposed=self.is_opposed,
            level=level(self.row.table),
            minutes=self.row.minutes,
            position=self.row.position,
            pk=str(self.row.pk),
        )


class Rank(NamedTuple):
    """The order of suggestions: what compares less comes first.

    `record` is -1 for what the team's own runs showed faster more often than slower, 1 for the
    other way round.
    """

    is_out: bool
    record: int
    is_opposed: bool
    level: int
    minutes: int
    position: int
    pk: str


class Pull(NamedTuple):
    """Two places that ask for opposite changes, each with its balance."""

    places: tuple[str, str]
    balances: tuple[str, str]


def pull_of(felt: Felt) -> Pull | None:
    """The places that pull against each other: one pushes, the other is loose."""
    for pair in PAIRS:
        one, other = (getattr(felt, place) for place in pair)
        if OPPOSITE.get(one) == other:
            return Pull(pair, (one, other))
    return None


def way(row: Suggestion) -> int:
    """1 for an amount that is more, -1 for one that is less."""
    return 1 if row.amount > 0 else -1


def change_of(row: Suggestion) -> tuple[Spot, int]:
    """What is changed where, and which way."""
    return (row.adjuster, row.spot), way(row)


def once_each(rows: Iterable[Suggestion]) -> list[tuple[Suggestion, ...]]:
    """The same change suggested for several places is one, as the first row has it."""
    each: dict[tuple[Spot, int], list[Suggestion]] = {}
    for row in rows:
        each.setdefault(change_of(row), []).append(row)
    return [tuple(same) for same in each.values()]


def in_order(
    suggestions: Sequence[TryThis], pull: Pull | None, acts_on: Mapping[Spot, Collection[str]]
) -> list[TryThis]:
    """By their rank, each with what it pulls against and which place it acts on alone.

    `acts_on` has, of each adjuster and spot, the places that the tables name it for; empty: any.
    """
    changes = {change_of(one.row) for one in suggestions}
    marked = []
    for one in suggestions:
        spot, direction = change_of(one.row)
        named = set(acts_on.get(spot, ()))
        is_alone = pull is not None and len(named) == 1 and named < set(pull.places)
        marked.append(
            replace(
                one,
                is_opposed=(spot, -direction) in changes,
                alone=named.pop() if is_alone else "",
            )
        )
    return sorted(marked, key=lambda one: one.rank)
