"""What the official sees: every entry of an event with where it stands, in a few queries."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.db.models import QuerySet

from events.models import Entry, Event, Finding
from events.queries.ages import ages_of
from events.queries.published import counted
from events.queries.states import State, state_of
from teams.models import Team


@dataclass(frozen=True)
class DeskRow:
    """One entry in the queue."""

    entry: Entry
    team_name: str
    state: State
    findings: list[Finding]

    @property
    def worst(self) -> Finding | None:
        """The finding that made the state, where one did."""
        return next((f for f in self.findings if f.outcome == self.state.value), None)


def desk(event: Event, search: str = "") -> list[DeskRow]:
    """The standing entries, by number or name where something is searched for."""
    entries = (
        Entry.objects.current()
        .filter(event=event)
        .select_related("event", "event_class__race_class")
    )
    rows = sorted(entries, key=lambda entry: (str(entry.event_class), *counted(entry.number)))
    findings = standing_findings(rows)
    # A team from another club is not visible here; its entry is.
    teams = Team.objects.in_bulk({e.team_id for e in rows})
    every = [
        DeskRow(
            entry=entry,
            team_name=str(teams.get(entry.team_id, "")),
            state=state_of(findings[entry.pk]),
            findings=findings[entry.pk],
        )
        for entry in rows
    ]
    return matching(every, search)


def matching(rows: Iterable[DeskRow], search: str) -> list[DeskRow]:
    """Those with that number, or with those letters in the name; all where nothing is searched."""
    asked = search.strip().casefold()
    return [
        row
        for row in rows
        if asked in ("", row.entry.number.casefold()) or asked in row.entry.display_name.casefold()
    ]


def withdrawn(event: Event, number: str) -> list[Entry]:
    """The event's withdrawn entries of a number, the newest first."""
    gone = Entry.objects.filter(event=event, number__iexact=number, withdrawn_at__isnull=False)
    return list(gone.select_related("event_class__race_class").order_by("-withdrawn_at"))


def standing_findings(entries: Iterable[Entry]) -> dict[UUID, list[Finding]]:
    """The newest batch of each entry, in the order of the rules, and what the viewer may know of
    the driver's age: a few queries."""
    entries = list(entries)
    findings: dict[UUID, list[Finding]] = defaultdict(list)
    for finding in _newest([entry.pk for entry in entries]):
        findings[finding.entry_id].append(finding)
    for entry_id, ages in ages_of(entries).items():
        findings[entry_id] += ages
    return findings


def _newest(entries: list[UUID]) -> QuerySet[Finding]:
    # Both by the entry, of which there is an index and few findings.
    findings = Finding.objects.filter(entry__in=entries)
    newest = findings.order_by("entry_id", "-batch").distinct("entry_id").values("batch")
    return findings.filter(batch__in=newest).select_related("rule").order_by("rule__order")
