from typing import Self

from django.db import models
from django.db.models import Q
from django.db.models.functions import Upper

from cars.models import Car
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
from events.models.event import Event, EventClass
from teams.models import Club, Driver, Team

# Made by the team's own crew, or by an official who names nobody and opens nothing of the team's.
OWN = all_of(
    in_teams("crew"),
    in_clubs("member"),
    "driver_id IS NOT NULL",
    "confirmed_at IS NOT NULL",
    viewer_is("confirmed_by_id"),
)
BY_HAND = all_of(
    any_of(in_clubs("official"), in_clubs("steward")),
    in_teams("walk_in"),
    "driver_id IS NULL",
    "confirmed_at IS NULL",
    "confirmed_by_id IS NULL",
)


class EntryQuerySet(RowQuerySet["Entry"]):
    """Cars entered, and some of them withdrawn."""

    def current(self) -> Self:
        """Those that are not withdrawn."""
        return self.filter(withdrawn_at__isnull=True)


class Entry(Row):
    """A car and driver entered in a class of an event.

    Number and display name of every entry of an event reach the club's members through the
    function access.start_list; the rest of the row is the team's and the officials'. The car is the
    team's when it is entered (a trigger sees to it); it may have another owner later.

    One made by hand at the scales has the car alone: it names no driver, opens nothing of the
    team's, and no age is answered for it, until the team's crew confirm it (access.confirm_entry).

    One that is confirmed and names no driver is of a driver whose data the family had erased
    (access.erase_driver): number and display name stay, as the official record has them.
    """

    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="entries")
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+", db_index=False)
    event_class = models.ForeignKey(EventClass, on_delete=models.PROTECT, related_name="entries")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="entries", db_index=False)
    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="entries")
    driver = models.ForeignKey(
        Driver, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    number = models.CharField(max_length=6)
    display_name = models.CharField(max_length=40, blank=True)
    confirmed_at = models.DateTimeField(null=True, blank=True)
    confirmed_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    # Entered before 7x and 7X were one number, in a class that holds both.
    shares_its_number = models.BooleanField(default=False, editable=False)

    objects = EntryQuerySet.as_manager()

    class Meta:
        ordering = ["number"]
        verbose_name_plural = "entries"
        indexes = [
            models.Index(fields=["team", "id"], name="entry_of_team"),
            models.Index(fields=["club", "id"], name="entry_of_club"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["event_class", "number"],
                condition=Q(withdrawn_at__isnull=True),
                name="entry_number_once_a_class",
            ),
            models.UniqueConstraint(
                "event_class",
                Upper("number"),
                condition=Q(withdrawn_at__isnull=True, shares_its_number=False),
                name="entry_number_in_any_case",
            ),
            models.UniqueConstraint(
                fields=["event_class", "car"],
                condition=Q(withdrawn_at__isnull=True),
                name="entry_car_once_a_class",
            ),
            models.CheckConstraint(
                condition=Q(confirmed_at__isnull=True, confirmed_by__isnull=True)
                | Q(confirmed_at__isnull=False, confirmed_by__isnull=False),
                name="entry_confirmed_by_somebody",
            ),
            SameParent(name="entry_club", parent="event_id", shared="club_id", to="events_event"),
            SameParent(
                name="entry_class",
                parent="event_class_id",
                shared="event_id",
                to="events_eventclass",
            ),
            SameParent(
                name="entry_driver_team", parent="driver_id", shared="team_id", to="teams_driver"
            ),
            RowSecurity(
                name="entry",
                read=any_of(in_teams("reader"), in_clubs("official"), in_clubs("steward")),
                # An official or steward enters by hand only a car of a team at home in the club.
                add=any_of(OWN, BY_HAND),
                change=any_of(in_teams("crew"), in_clubs("official"), in_clubs("steward")),
                change_columns=["number", "withdrawn_at"],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.display_name}".strip()

    @property
    def is_confirmed(self) -> bool:
        """Whether the team itself made or confirmed it."""
        return self.confirmed_at is not None
