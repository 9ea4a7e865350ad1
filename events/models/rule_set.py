from collections.abc import Sequence

from django.db import models

from cars.models.published import PublishedVersion, published_at_with_by
from clubsetup.access.models import Row, RowQuerySet
from clubsetup.access.row_security import RowSecurity, SameParent, in_clubs
from teams.models import Club, RaceClass


def club_read_steward_write(
    name: str, *, change_columns: Sequence[str], remove: bool = False
) -> RowSecurity:
    """Members of the club read, its stewards write."""
    return RowSecurity(
        name=name,
        read=in_clubs("member"),
        add=in_clubs("steward"),
        change=in_clubs("steward"),
        change_columns=change_columns,
        remove=in_clubs("steward") if remove else "",
    )


class RuleSet(PublishedVersion):
    """One version of a class's rules and the day from which it holds."""

    class Decision(models.TextChoices):
        """How a reading near a limit is decided (JCGM 106)."""

        READING = "reading", "The reading decides"
        GUARDED = "guarded", "With a guard band"

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+", db_index=False)
    race_class = models.ForeignKey(RaceClass, on_delete=models.PROTECT, related_name="rule_sets")
    valid_from = models.DateField()
    decision = models.CharField(max_length=10, choices=Decision.choices, default=Decision.READING)

    objects = RowQuerySet["RuleSet"].as_manager()

    class Meta:
        ordering = ["race_class__name", "-version"]
        indexes = [models.Index(fields=["club", "id"], name="rule_set_of_club")]
        constraints = [
            models.UniqueConstraint(fields=["race_class", "version"], name="rule_set_version_once"),
            published_at_with_by("rule_set"),
            SameParent(
                name="rule_set_club", parent="race_class_id", shared="club_id", to="teams_raceclass"
            ),
            RowSecurity(
                name="rule_set",
                read=in_clubs("member"),
                add=in_clubs("steward"),
                change=in_clubs("steward"),
                change_columns=[
                    "valid_from",
                    "decision",
                    "state",
                    "published_at",
                    "published_by_id",
                ],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.race_class}, rules {self.version}"


class Rule(Row):
    """One declared rule: a kind from events/rules and its parameters."""

    rule_set = models.ForeignKey(RuleSet, on_delete=models.CASCADE, related_name="rules")
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+", db_index=False)
    order = models.PositiveSmallIntegerField()
    kind = models.SlugField(max_length=40)
    parameters = models.JSONField()

    objects = RowQuerySet["Rule"].as_manager()

    class Meta:
        ordering = ["order"]
        indexes = [models.Index(fields=["club", "id"], name="rule_of_club")]
        constraints = [
            models.UniqueConstraint(fields=["rule_set", "order"], name="rule_order_once"),
            SameParent(
                name="rule_club", parent="rule_set_id", shared="club_id", to="events_ruleset"
            ),
            club_read_steward_write("rule", change_columns=["parameters"], remove=True),
        ]

    def __str__(self) -> str:
        return self.kind
