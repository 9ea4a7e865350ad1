from functools import reduce
from operator import or_
from typing import Any, Self, TypeVar

from django.db import models
from django.db.models import Q

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
from events.models.entry import Entry
from events.models.record_chain import InChain
from teams.models import Club, Team

M = TypeVar("M", bound=models.Model)


class VoidableRows(RowQuerySet[M]):
    """Records that stay as they are; some of them a `Void` has taken out of force."""

    def current(self) -> Self:
        """Those that nobody has voided."""
        return self.filter(void__isnull=True)


def official_record(name: str) -> list[Any]:
    """Added by the club's officials in their own name, with its line in the event's chain; never
    changed or removed by anybody."""
    return [
        InChain(name=f"{name}_in_chain"),
        SameParent(name=f"{name}_club", parent="entry_id", shared="club_id", to="events_entry"),
        SameParent(name=f"{name}_team", parent="entry_id", shared="team_id", to="events_entry"),
        RowSecurity(
            name=name,
            read=any_of(in_teams("reader"), in_clubs("official"), in_clubs("steward")),
            add=all_of(in_clubs("official"), viewer_is("by_id")),
        ),
    ]


def of_this_entry(name: str, parent: str, to: str) -> SameParent:
    """A record that speaks of another one speaks of the same entry."""
    return SameParent(name=name, parent=parent, shared="entry_id", to=to)


def just_one(*names: str) -> Q:
    """One of the columns is filled and the others are not."""
    each = (Q(**{f"{one}__isnull": one != filled for one in names}) for filled in names)
    return reduce(or_, each)


class OfficialRecord(Row):
    """What every official record carries. `device_at`: the device's clock, if made off line."""

    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="%(class)ss")
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+", db_index=False)
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    device_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True
        ordering = ["created_at"]
        indexes = [
            models.Index(fields=["team", "id"], name="%(class)s_of_team"),
            models.Index(fields=["club", "id"], name="%(class)s_of_club"),
        ]
