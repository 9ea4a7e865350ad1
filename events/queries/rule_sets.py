"""Which rules hold when."""

from datetime import date

from events.models import RuleSet
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
