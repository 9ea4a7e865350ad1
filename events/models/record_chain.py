from typing import Any

from django.db import models
from django.db.models import Q

from clubsetup.access.models import Row
from clubsetup.access.row_security import OnTable, RowSecurity, SameParent, any_of, in_clubs
from events.models.event import Event
from teams.models import Club


def _read_alone(name: str) -> RowSecurity:
    """Officials and stewards read. Nobody writes: the functions of the chain do, as the owner."""
    return RowSecurity(name=name, read=any_of(in_clubs("official"), in_clubs("steward")))


class InChain(OnTable):
    """A row of this table has its line in a chain by the end of the transaction that adds it."""

    def given(self) -> dict[str, Any]:
        """Nothing: the table says it all."""
        return {}

    def create_sql(self, model: Any, schema_editor: Any) -> str:
        """A trigger that waits for the end of the transaction."""
        return (
            f"CREATE CONSTRAINT TRIGGER {self.name} AFTER INSERT ON {model._meta.db_table} "
            "DEFERRABLE INITIALLY DEFERRED "
            "FOR EACH ROW EXECUTE FUNCTION access.refuse_without_line()"
        )

    def remove_sql(self, model: Any, schema_editor: Any) -> str:
        """Drops the trigger."""
        return f"DROP TRIGGER {self.name} ON {model._meta.db_table}"


class RecordChain(Row):
    """Where the chain of an event's records ends. Begun with the event, by a trigger.

    The row is also the chain's lock: access.hold_chain holds it to the end of the transaction.
    """

    event = models.OneToOneField(Event, on_delete=models.PROTECT, related_name="record_chain")
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+")
    head = models.TextField(help_text="What the records are of, as it was hashed.")
    length = models.PositiveIntegerField(default=0)
    last_hash = models.CharField(max_length=64, help_text="Of the head while there is no line.")

    class Meta:
        constraints = [
            SameParent(
                name="record_chain_club", parent="event_id", shared="club_id", to="events_event"
            ),
            _read_alone("record_chain"),
        ]

    def __str__(self) -> str:
        return f"Records of {self.event}"


class RecordLine(Row):
    """One record's line as it was hashed, at its place; never changed or removed by anybody.

    Only access.append_lines adds one, and only with what the record's row holds. Beside it stand
    the words that it holds the hashes of.
    """

    chain = models.ForeignKey(RecordChain, on_delete=models.PROTECT, related_name="lines")
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+")
    place = models.PositiveIntegerField(help_text="From 1.")
    kind = models.CharField(max_length=40)
    # No foreign key: the kinds have a table each. A scale check may stand in several chains.
    record_id = models.UUIDField()
    text = models.TextField(help_text="Canonical JSON.")
    hash = models.CharField(max_length=64, help_text="Of this line and all before it.")
    # What people wrote in words, by field, with the salt of their hashes: the line holds the hashes
    # alone, so that the words can be erased (access.erase_words) and the chain still holds.
    words = models.JSONField(null=True, blank=True)

    class Meta:
        ordering = ["place"]
        constraints = [
            models.UniqueConstraint(fields=["chain", "place"], name="record_line_place_once"),
            models.UniqueConstraint(fields=["record_id", "chain"], name="record_line_once"),
            models.CheckConstraint(condition=Q(place__gte=1), name="record_line_place_from_one"),
            SameParent(
                name="record_line_club",
                parent="chain_id",
                shared="club_id",
                to="events_recordchain",
            ),
            _read_alone("record_line"),
        ]

    def __str__(self) -> str:
        return f"{self.place}: {self.kind}"
