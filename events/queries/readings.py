"""What officials measured on a car, and what the rules ask them to."""

from collections.abc import Iterable

from django.db.models import QuerySet

from cars.models import Measure
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.uncertainty import Estimate, from_step
from events.models import RuleSet, TechReading
from events.rules import Where, rule_from
from events.rules.ballast import BallastPlace
from events.rules.weight import ANY


def standing_readings(readings: Iterable[TechReading]) -> dict[Where, TechReading]:
    """The newest of each measure and spot (each with its void) that is not void."""
    standing: dict[Where, TechReading] = {}
    for one in sorted(readings, key=lambda r: (r.created_at, r.pk)):
        if not hasattr(one, "void"):
            standing[Where(one.measure_id, one.spot)] = one
    return standing


def estimate(reading: TechReading) -> Estimate:
    """The length in mm, with the uncertainty of what the tool or the writing resolves."""
    return Estimate(float(reading.value), from_step(float(reading.resolution)))


def asked_for(rule_set: RuleSet) -> list[tuple[Measure, str]]:
    """Each measure and spot that a rule speaks of, in the order of the rules."""
    rules = (rule_from(rule.kind, rule.parameters) for rule in rule_set.rules.all())
    wanted = [where for rule in rules if (where := rule.reads())]
    measures = lengths().in_bulk([where.measure for where in wanted])
    asked: dict[tuple[str, str], tuple[Measure, str]] = {}
    for where in wanted:
        measure = measures.get(where.measure)
        for spot in measure.spots if measure else ():
            if measure and where.spot in ("", spot):
                asked[measure.pk, spot] = (measure, spot)
    return list(asked.values())


def spots_of_lengths() -> dict[str, tuple[str, ...]]:
    """At which spots each length is taken."""
    return {slug: tuple(spots) for slug, spots in lengths().values_list("pk", "spots")}


def lengths() -> QuerySet[Measure]:
    """What an official can read off a car with a tape."""
    return Measure.objects.filter(kind=Kind.LENGTH)


def asks_for_fuel(rule_set: RuleSet) -> bool:
    """Whether a rule makes a difference between a car with fuel and one without."""
    return any(rule.parameters.get("fuel", ANY) != ANY for rule in rule_set.rules.all())


def allowed_places(rule_set: RuleSet) -> tuple[str, ...]:
    """The places for ballast that the rules allow; none where they do not say."""
    rules = (rule_from(rule.kind, rule.parameters) for rule in rule_set.rules.all())
    return next((rule.allowed() for rule in rules if isinstance(rule, BallastPlace)), ())
