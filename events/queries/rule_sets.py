"""Which rules hold when, for which car, and which kinds there are."""

from collections.abc import Collection, Iterable, Sequence
from datetime import date
from uuid import UUID

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
    return rules_for_each([car]).get(car.pk, (None, None))


def rules_for_each(cars: Sequence[Car]) -> dict[UUID, tuple[RuleSet, Entry | None]]:
    """The same of several cars, and nothing of a car where none hold. Two queries."""
    held: dict[UUID, tuple[RuleSet, Entry | None]] = {
        entry.car_id: (entry.event_class.rule_set, entry) for entry in _entered_next(cars)
    }
    classes = {car.race_class_id for car in cars if car.race_class_id and car.pk not in held}
    today = {row.race_class_id: row for row in _rules_today(classes)}
    for car in cars:
        if car.pk not in held and car.race_class_id in today:
            held[car.pk] = today[car.race_class_id], None
    return held


def _entered_next(cars: Sequence[Car]) -> Iterable[Entry]:
    """The last one of each car is what it runs next."""
    return (
        Entry.objects.current()
        .filter(car__in=cars)
        .exclude(event__state=Event.State.OVER)
        .select_related("event_class__rule_set__race_class", "event")
        .order_by("-event__starts_on")
    )


def _rules_today(classes: Collection[UUID]) -> Iterable[RuleSet]:
    return (
        RuleSet.objects.filter(
            race_class__in=classes,
            state=RuleSet.State.PUBLISHED,
            valid_from__lte=timezone.localdate(),
        )
        .select_related("race_class")
        .order_by("race_class_id", "-valid_from", "-version")
        .distinct("race_class_id")
    )


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
