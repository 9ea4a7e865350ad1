"""Which rules hold when, and which kinds there are."""

from datetime import date

from events.models import RuleSet
from events.rules import KINDS, RuleKind
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
