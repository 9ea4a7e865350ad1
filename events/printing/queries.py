"""What the prints of an event show: its entries with everything on record, in a few queries."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Prefetch

from cars.models import BallastPiece
from clubsetup.quantities.units import Units
from events.models import (
    BallastCheck,
    BallastPhoto,
    Entry,
    Event,
    Finding,
    Rule,
    TechReading,
    WeighIn,
)
from events.queries.ages import ages_of
from events.queries.ballast import ballast_of
from events.queries.published import counted
from events.queries.states import State, state_of
from events.queries.weighings import Weighed, weighed
from events.rules import rule_from
from teams.models import Team


@dataclass(frozen=True)
class EntryBook:
    """One entry and all that was recorded of it, oldest first."""

    entry: Entry
    team_name: str
    rules: list[str]
    weigh_ins: list[WeighIn] = field(default_factory=list)
    ballast_checks: list[BallastCheck] = field(default_factory=list)
    readings: list[TechReading] = field(default_factory=list)
    batches: list[list[Finding]] = field(default_factory=list)
    pieces: list[BallastPiece] = field(default_factory=list)
    ages: list[Finding] = field(default_factory=list)

    @property
    def standing(self) -> list[Finding]:
        """The newest findings."""
        return self.batches[-1] if self.batches else []

    @property
    def superseded(self) -> list[list[Finding]]:
        """The findings before them."""
        return self.batches[:-1]

    @property
    def state(self) -> State:
        """Where the entry stands."""
        return state_of([*self.standing, *self.ages])

    @property
    def ballast_seen(self) -> str:
        """How much of the ballast somebody looked at: 'all', '1 of 2', or nothing."""
        listed = {str(piece.pk) for piece in self.pieces}
        if self.standing:
            listed = set(self.standing[0].evidence.get("listed", listed))
        ballast = ballast_of(self.ballast_checks, listed)
        seen = len(ballast.on_car)
        if ballast.unseen:
            return f"{seen} of {seen + len(ballast.unseen)}"
        return "all" if ballast.is_looked_at else ""

    @property
    def before(self) -> Weighed | None:
        """What it weighed before the race, with the driver where it was weighed so."""
        return self._at(WeighIn.Stage.ENTRY)

    @property
    def after(self) -> Weighed | None:
        """What it weighed after the race."""
        return self._at(WeighIn.Stage.AFTER)

    def _at(self, stage: str) -> Weighed | None:
        groups = [group for group in weighed(self.weigh_ins) if group.stage == stage]
        return max(groups, key=lambda group: group.driver_in, default=None)


def books_of(event: Event, units: Units, *, withdrawn: bool = False) -> list[EntryBook]:
    """Every entry of the event that the viewer sees, by class and number."""
    entries = Entry.objects.filter(event=event)
    if not withdrawn:
        entries = entries.current()
    return _books(entries.select_related(*ENTRY), units)


def book_of(entry: Entry, units: Units) -> EntryBook:
    return _books(Entry.objects.filter(pk=entry.pk).select_related(*ENTRY), units)[0]


ENTRY = ("event__club", "event__track", "event_class__race_class", "event_class__rule_set")


def _books(entries: Iterable[Entry], units: Units) -> list[EntryBook]:
    rows = sorted(entries, key=lambda e: (str(e.event_class), *counted(e.number)))
    of = {"entry__in": [entry.pk for entry in rows]}
    weigh_ins = _by_entry(
        WeighIn.objects.filter(**of).select_related("void__by", "by", "scale_set", "scale_check")
    )
    photos = Prefetch("photos", BallastPhoto.objects.with_small().select_related("by"))
    checks = _by_entry(
        BallastCheck.objects.filter(**of).select_related("void__by", "by").prefetch_related(photos)
    )
    readings = _by_entry(
        TechReading.objects.filter(**of).select_related("void__by", "by", "measure")
    )
    findings = _by_entry(
        Finding.objects.filter(**of).select_related("by").order_by("batch", "rule__order")
    )
    teams = Team.objects.in_bulk({entry.team_id for entry in rows})
    rules, pieces, ages = _rule_words(rows, units), _pieces(rows), ages_of(rows)
    return [
        EntryBook(
            entry=entry,
            team_name=str(teams.get(entry.team_id, "")),
            rules=rules[entry.event_class.rule_set_id],
            weigh_ins=weigh_ins[entry.pk],
            ballast_checks=checks[entry.pk],
            readings=readings[entry.pk],
            batches=_batches(findings[entry.pk]),
            pieces=pieces[entry.car_id] if entry.is_confirmed else [],
            ages=ages.get(entry.pk, []),
        )
        for entry in rows
    ]


def _by_entry(rows: Iterable[Any]) -> dict[Any, list[Any]]:
    by_entry: dict[Any, list[Any]] = defaultdict(list)
    for row in rows:
        by_entry[row.entry_id].append(row)
    return by_entry


def _batches(findings: Iterable[Finding]) -> list[list[Finding]]:
    batches: dict[object, list[Finding]] = {}
    for finding in findings:
        batches.setdefault(finding.batch, []).append(finding)
    return list(batches.values())


def _rule_words(entries: Iterable[Entry], units: Units) -> dict[Any, list[str]]:
    words_by_rule: dict[Any, list[str]] = defaultdict(list)
    sets = {entry.event_class.rule_set_id for entry in entries}
    for rule in Rule.objects.filter(rule_set__in=sets).order_by("order"):
        words_by_rule[rule.rule_set_id].append(rule_from(rule.kind, rule.parameters).words(units))
    return words_by_rule


def _pieces(entries: Iterable[Entry]) -> dict[Any, list[BallastPiece]]:
    """The pieces that the teams keep on the cars, as far as the viewer may see them."""
    pieces: dict[Any, list[BallastPiece]] = defaultdict(list)
    cars = {entry.car_id for entry in entries}
    pieces_in_use = BallastPiece.objects.in_use().filter(car_id__in=cars)
    for piece in pieces_in_use.select_related("mount"):
        pieces[piece.car_id].append(piece)
    return pieces
