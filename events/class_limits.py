"""What the published rules of a car's class ask for at the scales, for the planning of ballast."""

from cars.limits import ClassLimit, provides_class_limit
from cars.models import Car
from events.queries.precheck import rules_for
from events.rules import rule_from
from events.rules.weight import MinimumWeight


@provides_class_limit
def published_minimum(car: Car) -> ClassLimit | None:
    """The largest minimum with the driver that holds for the car, or None where none is known.

    Of several, the largest: a car that meets it meets the others.
    """
    rule_set, entry = rules_for(car)
    if rule_set is None:
        return None
    rules = (rule_from(rule.kind, rule.parameters) for rule in rule_set.rules.all())
    minima = [rule.minimum for rule in rules if isinstance(rule, MinimumWeight) and rule.as_raced]
    if not minima:
        return None
    froze = f", as {entry.event} has them" if entry is not None else ""
    return ClassLimit(max(minima), f"The minimum is that of {rule_set}{froze}.")
