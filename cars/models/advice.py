from typing import Self

from django.db import models
from django.db.models import OuterRef, Q, Subquery

from cars.models.car import Car
from cars.models.catalogue import Measure, Spot
from clubsetup.access.models import Row, RowQuerySet, User
from clubsetup.access.row_security import (
    RowSecurity,
    SameParent,
    all_of,
    any_of,
    in_teams,
    viewer_is,
)
from teams.models import Team


class AdviceQuerySet(RowQuerySet["Advice"]):
    """What coaches advised, and some of it done."""

    def standing(self) -> Self:
        """What nobody ticked off and the family has not answered since the coach wrote last."""
        last = AdviceReply.objects.filter(advice=OuterRef("pk")).order_by("-created_at", "-id")
        rows = self.filter(done_at__isnull=True)
        rows = rows.alias(last_of_coach=Subquery(last.values("of_coach")[:1]))
        return rows.filter(Q(last_of_coach__isnull=True) | Q(last_of_coach=True))


class Advice(Row):
    """What a linked coach says of a car, or of one box of it. Never edited; answers are rows."""

    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="advice", db_index=False)
    # The team that had the car then, whose coach wrote it.
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    measure = models.ForeignKey(
        Measure, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    spot = models.CharField(max_length=10, choices=Spot.choices, blank=True)
    # The figure the coach would like to see in that box; canonical, and as typed.
    wanted = models.DecimalField(max_digits=20, decimal_places=10, null=True, blank=True)
    wanted_typed = models.CharField(max_length=40, blank=True)
    text = models.TextField()
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    objects = AdviceQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        indexes = [
            models.Index(fields=["team", "id"], name="advice_of_team"),
            models.Index(fields=["car", "-id"], name="advice_of_car"),
            # Of a season's advice little is open.
            models.Index(
                fields=["team", "id"], condition=Q(done_at__isnull=True), name="advice_open"
            ),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(done_at__isnull=True, done_by__isnull=True)
                | Q(done_at__isnull=False, done_by__isnull=False),
                name="advice_done_at_with_by",
            ),
            models.CheckConstraint(
                condition=Q(measure__isnull=True, spot="", wanted__isnull=True)
                | (Q(measure__isnull=False) & ~Q(spot="")),
                name="advice_spot_with_measure",
            ),
            models.CheckConstraint(
                condition=Q(wanted__isnull=True, wanted_typed="")
                | (Q(wanted__isnull=False) & ~Q(wanted_typed="")),
                name="advice_wanted_as_typed",
            ),
            models.CheckConstraint(condition=~Q(text=""), name="advice_says_something"),
            RowSecurity(
                name="advice",
                read=in_teams("reader"),
                # The copy of the team must be the car's own when the row is made.
                add=all_of(
                    in_teams("coach"),
                    viewer_is("by_id"),
                    "EXISTS (SELECT FROM cars_car c WHERE c.id = car_id"
                    " AND c.team_id = cars_advice.team_id)",
                ),
                change=any_of(in_teams("crew"), all_of(in_teams("coach"), viewer_is("by_id"))),
                change_columns=["done_at", "done_by_id"],
            ),
        ]

    def __str__(self) -> str:
        return self.text


class AdviceReply(Row):
    """A word on a coach's advice, by the crew or by a linked coach."""

    advice = models.ForeignKey(
        Advice, on_delete=models.PROTECT, related_name="replies", db_index=False
    )
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    # Whether it was written as a coach: an answer of the family takes the advice off its pages.
    of_coach = models.BooleanField()
    text = models.TextField()

    objects = RowQuerySet["AdviceReply"].as_manager()

    class Meta:
        ordering = ["created_at", "id"]
        indexes = [
            models.Index(fields=["team", "id"], name="advice_reply_of_team"),
            models.Index(fields=["advice", "created_at", "id"], name="advice_reply_of_advice"),
        ]
        constraints = [
            models.CheckConstraint(condition=~Q(text=""), name="advice_reply_says_something"),
            SameParent(
                name="advice_reply_team", parent="advice_id", shared="team_id", to="cars_advice"
            ),
            RowSecurity(
                name="advice_reply",
                read=in_teams("reader"),
                add=all_of(
                    viewer_is("by_id"),
                    any_of(
                        all_of("of_coach", in_teams("coach")),
                        all_of("NOT of_coach", in_teams("crew")),
                    ),
                ),
            ),
        ]

    def __str__(self) -> str:
        return self.text
