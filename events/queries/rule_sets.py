"""Which rules hold when, and which kinds there are."""

from datetime import date

from events.models import RuleSet
from events.rules import KINDS, TOPICS, RuleKind
from teams.models import RaceClass


def rules_on(race_class: RaceClass, day: date) -> RuleSet | None:
    """The published version that holds on a day: of those whose date has come, the latest."""
    return (
        RuleSet.objects.filter(
            race_class=race_class, state=RuleSet.State.PUBLISHED, valid_from__lte=day
        )
        .order_by("-valid_from", "-version")
        .first()
    )


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
