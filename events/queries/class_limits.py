"""What the published rules of a car's class ask for at the scales, for the planning of ballast."""

from collections.abc import Sequence
from uuid import UUID

from django.db.models import prefetch_related_objects

from cars.models import Car
from cars.plans.queries.class_limits import ClassLimit
from events.models import Entry, RuleSet
from events.queries.rule_sets import rules_for_each, rules_in
from events.rules import RuleKind
from events.rules.ballast import BallastLargestPiece
from events.rules.weight import MinimumWeight


def published_limits(cars: Sequence[Car]) -> dict[UUID, ClassLimit]:
    """What holds for each car at the scales; none of a car where nothing is known."""
    held = rules_for_each(cars)
    prefetch_related_objects([rule_set for rule_set, _ in held.values()], "rules")
    limits = {
        car_id: limit_of(rules_in(rule_set), rule_set, entry)
        for car_id, (rule_set, entry) in held.items()
    }
    return {car_id: limit for car_id, limit in limits.items() if limit is not None}


def limit_of(
    rules: Sequence[RuleKind], rule_set: RuleSet, entry: Entry | None
) -> ClassLimit | None:
    """The largest minimum with the driver, and the least of the largest pieces.

    Of several, a car that meets these meets the others. None where the rules ask for neither.
    """
    minima = [rule.minimum for rule in rules if isinstance(rule, MinimumWeight) and rule.as_raced]
    largest = [rule.at_most for rule in rules if isinstance(rule, BallastLargestPiece)]
    if not minima and not largest:
        return None
    froze = f", as {entry.event} has them" if entry is not None else ""
    words = f"The minimum is that of {rule_set}{froze}." if minima else ""
    return ClassLimit(
        max(minima, default=None), words, min(largest, default=None), str(rule_set.race_class)
    )


PROVIDERS = (published_limits,)
