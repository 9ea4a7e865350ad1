"""What officials measured on a car, and what the rules ask them to."""

from collections.abc import Iterable

from cars.models import Measure
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.uncertainty import Estimate, from_step
from events.models import RuleSet, TechReading
from events.rules import Where

ASKING = ("length_limit", "required_reading")


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
    rules = [r.parameters for r in rule_set.rules.all() if r.kind in ASKING]
    measures = Measure.objects.filter(kind=Kind.LENGTH).in_bulk([r["measure"] for r in rules])
    asked: dict[tuple[str, str], tuple[Measure, str]] = {}
    for rule in rules:
        measure = measures.get(rule["measure"])
        for spot in measure.spots if measure else ():
            if measure and rule.get("spot", "") in ("", spot):
                asked[measure.pk, spot] = (measure, spot)
    return list(asked.values())
