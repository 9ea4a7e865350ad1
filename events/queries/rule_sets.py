"""Which rules hold when, for which car, and which kinds there are."""

from datetime import date

from django.utils import timezone

from cars.models import Car
from events.models import Entry, Event, RuleSet
from events.rules import KINDS, TOPICS, RuleKind, rule_from
from teams.models import RaceClass


def rules_on(race_class: RaceClass, day: date, *, without: RuleSet | None = None) -> RuleSet | None:
    """The published version that holds on a day: of those whose date has come, the latest; or
    which one would, `without` one of them."""
    holding = RuleSet.objects.filter(
        race_class=race_class, state=RuleSet.State.PUBLISHED, valid_from__lte=day
    )
    if without is not None:
        holding = holding.exclude(pk=without.pk)
    return holding.order_by("-valid_from", "-version").first()


def rules_for(car: Car) -> tuple[RuleSet | None, Entry | None]:
    """The rules frozen by the event the car is entered in next; else its class's of today."""
    entry = (
        Entry.objects.current()
        .filter(car=car)
        .exclude(event__state=Event.State.OVER)
        .select_related("event_class__rule_set__race_class", "event")
        .order_by("event__starts_on")
        .first()
    )
    if entry is not None:
        return entry.event_class.rule_set, entry
    if car.race_class is None:
        return None, None
    return rules_on(car.race_class, timezone.localdate()), None


def rules_in(rule_set: RuleSet) -> list[RuleKind]:
    """What a version declares, in its order."""
    return [rule_from(row.kind, row.parameters) for row in rule_set.rules.all()]


def kinds_by_title() -> list[type[RuleKind]]:
    """Every kind of rule, by the name a steward looks for."""
    return sorted(KINDS.values(), key=lambda kind: kind.title)


def kinds_by_topic() -> list[tuple[str, list[tuple[str, str]]]]:
    """Topics, each with the name and title of its kinds, the usual ones first."""
    # As plain pairs: a template would call a class to make a rule of it.
    return [
        (topic, [(kind.kind, kind.title) for kind in KINDS.values() if kind.topic == topic])
        for topic in TOPICS
    ]
