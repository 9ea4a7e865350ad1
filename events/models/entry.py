from django.db import models
from django.db.models import Q
from django.db.models.functions import Upper

from cars.models import Car
from clubsetup.access.models import Row
from clubsetup.access.row_security import (
    RowSecurity,
    SameParent,
    all_of,
    any_of,
    in_clubs,
    in_teams,
)
from events.models.event import Event, EventClass
from teams.models import Club, Driver, Team


class Entry(Row):
    """A car and driver entered in a class of an event.

    Number and display name of every entry of an event reach the club's members through the
    function access.start_list; the rest of the row is the team's and the officials'. The car is the
    team's when it is entered (a trigger sees to it); it may have another owner later.
    """

    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="entries")
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+")
    event_class = models.ForeignKey(EventClass, on_delete=models.PROTECT, related_name="entries")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="entries")
    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="entries")
    driver = models.ForeignKey(Driver, on_delete=models.PROTECT, related_name="+")
    number = models.CharField(max_length=6)
    display_name = models.CharField(max_length=40)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    # Entered before 7x and 7X were one number, in a class that holds both.
    shares_its_number = models.BooleanField(default=False, editable=False)

    class Meta:
        ordering = ["number"]
        verbose_name_plural = "entries"
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
                read=any_of(in_teams("setup"), in_clubs("official"), in_clubs("steward")),
                # An official or steward enters by hand only a car of a team at home in the club: an
                # entry opens the car's ballast pieces to them.
                add=any_of(
                    all_of(in_teams("crew"), in_clubs("member")),
                    all_of(any_of(in_clubs("official"), in_clubs("steward")), in_teams("tended")),
                ),
                change=any_of(in_teams("crew"), in_clubs("official"), in_clubs("steward")),
                change_columns=["number", "display_name", "withdrawn_at"],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.display_name}"
