from collections.abc import Iterable
from functools import reduce
from operator import or_
from typing import Self
from uuid import UUID

from django.db import models
from django.db.models import Q

from cars.models.catalogue import Spot
from cars.models.published import PublishedVersion, published_at_with_by
from cars.models.run import Feel, RunDetails
from clubsetup.access.models import Row, RowQuerySet, User
from clubsetup.access.row_security import (
    RowSecurity,
    SameParent,
    all_of,
    any_of,
    in_clubs,
    in_teams,
    viewer_is,
)
from teams.models import Club, CoachLink, Surface, Team

MOST_MINUTES = 480


def _one_of(field: str, values: list[str], name: str) -> models.CheckConstraint:
    return models.CheckConstraint(
        condition=Q(**{f"{field}__in": ["", *values]}), name=f"suggestion_{name}_known"
    )


def _written_by_its_owner(table: str = "") -> str:
    """The club's by its stewards, a coach's by the coach, a team's by its crew."""
    return any_of(
        all_of(
            f"{table}team_id IS NULL",
            f"{table}coach_id IS NULL",
            in_clubs("steward", f"{table}club_id"),
        ),
        all_of(in_teams("crew", f"{table}team_id"), f"{table}coach_id IS NULL"),
        all_of(
            viewer_is(f"{table}coach_id"),
            f"{table}team_id IS NULL",
            in_clubs("coach", f"{table}club_id"),
        ),
    )


_IN_A_DRAFT = (
    "EXISTS (SELECT FROM cars_suggestiontable t WHERE t.id = table_id AND t.state = 'draft'"
    f" AND {_written_by_its_owner('t.')})"
)


class SuggestionTableQuerySet(RowQuerySet["SuggestionTable"]):
    """Tables by whose they are."""

    def of_reader(self, user: User, clubs: Iterable[UUID], teams: Iterable[UUID]) -> Self:
        """The clubs' own, those of the teams, the reader's own as a coach, and those of the coaches
        whom their own teams link: a list's way to an index, as in `RowQuerySet`."""
        linked = CoachLink.objects.filter(team__members__user=user).values("coach")
        owners = [
            *(Q(club=club, team__isnull=True, coach__isnull=True) for club in clubs),
            *(Q(team=team) for team in teams),
            Q(coach=user),
            Q(coach__in=linked),
        ]
        return self._of(reduce(or_, owners), owners)


class SuggestionTable(PublishedVersion):
    """What to try for what is felt: one version of a club's, a coach's or a team's own table."""

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+", db_index=False)
    # A team's own, or a coach's for the teams that link to the coach; the club's where neither.
    team = models.ForeignKey(
        Team, on_delete=models.PROTECT, null=True, blank=True, related_name="+", db_index=False
    )
    coach = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+", db_index=False
    )
    note = models.TextField(blank=True, help_text="What changed and why.")

    objects = SuggestionTableQuerySet.as_manager()

    class Meta:
        ordering = ["-version"]
        indexes = [
            models.Index(
                fields=["club", "id"],
                condition=Q(team__isnull=True, coach__isnull=True),
                name="suggestion_table_of_club",
            ),
            models.Index(fields=["team", "id"], name="suggestion_table_of_team"),
            models.Index(fields=["coach", "id"], name="suggestion_table_of_coach"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["club", "team", "coach", "version"],
                nulls_distinct=False,
                name="suggestion_table_version_once",
            ),
            models.UniqueConstraint(
                fields=["club", "team", "coach"],
                condition=Q(state="published"),
                nulls_distinct=False,
                name="suggestion_table_one_published",
            ),
            models.CheckConstraint(
                condition=Q(team__isnull=True) | Q(coach__isnull=True),
                name="suggestion_table_of_team_or_coach",
            ),
            published_at_with_by("suggestion_table"),
            SameParent(
                name="suggestion_table_club", parent="team_id", shared="club_id", to="teams_team"
            ),
            RowSecurity(
                name="suggestion_table",
                # A draft is its writers' until it is published; a team reads its own.
                read=any_of(
                    all_of(
                        "team_id IS NULL",
                        "coach_id IS NULL",
                        any_of(in_clubs("steward"), all_of(in_clubs("member"), "state <> 'draft'")),
                    ),
                    in_teams("reader"),
                    viewer_is("coach_id"),
                    # Published by a coach whom one of the viewer's teams links.
                    "id = ANY ((SELECT access.coached_tables())::uuid[])",
                ),
                add=_written_by_its_owner(),
                change=_written_by_its_owner(),
                change_columns=["state", "note", "published_at", "published_by_id"],
                # A draft alone is thrown away; what was in force stays to be read.
                remove=all_of("state = 'draft'", _written_by_its_owner()),
            ),
        ]

    def __str__(self) -> str:
        return f"Suggestions, version {self.version}"


class Suggestion(Row):
    """What to try where all of this is felt: what, where, how much, and why."""

    class Place(models.TextChoices):
        ENTRY = "entry", "Entry"
        MIDDLE = "middle", "Middle"
        EXIT = "exit", "Exit"

    class Source(models.TextChoices):
        COMMON_PRACTICE = "common-practice", "Common practice, no source"
        MAKER = "maker", "The maker's sheet"
        CLUB = "club", "The club's experience"
        COACH = "coach", "The coach's experience"
        TEAM = "team", "The team's own record"

    table = models.ForeignKey(
        SuggestionTable, on_delete=models.CASCADE, related_name="suggestions", db_index=False
    )
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+", db_index=False)
    # What is felt; what is empty may be anything. A balance without a place: anywhere.
    place = models.CharField(max_length=10, choices=Place.choices, blank=True)
    balance = models.CharField(max_length=10, choices=Feel.Balance.choices, blank=True)
    hands = models.CharField(max_length=10, choices=Feel.Hands.choices, blank=True)
    steering = models.CharField(max_length=10, choices=Feel.Steering.choices, blank=True)
    surface = models.CharField(max_length=10, choices=Surface.choices, blank=True)
    surface_state = models.CharField(
        max_length=10, choices=RunDetails.SurfaceState.choices, blank=True
    )
    # What to do, as a change at the track says it.
    adjuster = models.SlugField(max_length=40)
    spot = models.CharField(max_length=10, choices=Spot.choices)
    amount = models.DecimalField(max_digits=12, decimal_places=4)
    unit = models.CharField(max_length=12)
    why = models.CharField(max_length=300, help_text="What it does to the car, in one sentence.")
    minutes = models.PositiveSmallIntegerField(help_text="How long it takes.")
    caution = models.CharField(max_length=300, blank=True)
    source = models.CharField(max_length=20, choices=Source.choices)
    source_note = models.CharField(max_length=120, blank=True)
    position = models.PositiveSmallIntegerField(help_text="Its place in the table, from 1.")

    objects = RowQuerySet["Suggestion"].as_manager()

    class Meta:
        ordering = ["position", "id"]
        indexes = [models.Index(fields=["club", "id"], name="suggestion_of_club")]
        constraints = [
            # Led by the table, so that it is found by it.
            models.UniqueConstraint(
                fields=[
                    *("table", "place", "balance", "hands", "steering", "surface"),
                    *("surface_state", "adjuster", "spot"),
                ],
                name="suggestion_once_for_a_feel",
            ),
            _one_of("place", ["entry", "middle", "exit"], "place"),
            _one_of("balance", Feel.Balance.values, "balance"),
            _one_of("hands", Feel.Hands.values, "hands"),
            _one_of("steering", Feel.Steering.values, "steering"),
            _one_of("surface", Surface.values, "surface"),
            _one_of("surface_state", RunDetails.SurfaceState.values, "surface_state"),
            models.CheckConstraint(
                condition=~Q(balance="", hands="", steering="", surface_state=""),
                name="suggestion_for_something_felt",
            ),
            models.CheckConstraint(
                condition=Q(place="") | ~Q(balance=""), name="suggestion_place_with_balance"
            ),
            models.CheckConstraint(condition=~Q(amount=0), name="suggestion_of_something"),
            models.CheckConstraint(condition=~Q(why=""), name="suggestion_has_why"),
            models.CheckConstraint(
                condition=Q(minutes__gte=1, minutes__lte=MOST_MINUTES),
                name="suggestion_minutes_sensible",
            ),
            SameParent(
                name="suggestion_club",
                parent="table_id",
                shared="club_id",
                to="cars_suggestiontable",
            ),
            RowSecurity(
                name="suggestion",
                # The table's own policy says which tables the viewer sees.
                read="EXISTS (SELECT FROM cars_suggestiontable t WHERE t.id = table_id)",
                add=_IN_A_DRAFT,
                change=_IN_A_DRAFT,
                remove=_IN_A_DRAFT,
                change_columns=[
                    *("place", "balance", "hands", "steering", "surface", "surface_state"),
                    *("adjuster", "spot", "amount", "unit", "why", "minutes", "caution"),
                    *("source", "source_note", "position"),
                ],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.adjuster} {self.spot} {self.amount} {self.unit}"
