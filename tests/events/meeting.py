"""An event under way at Fernbank, made by the actions: a class, its rules, scales, two entries."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from cars.baselines.actions.chassis import add_chassis
from cars.garage.actions.ballast import add_ballast_piece
from cars.garage.actions.cars import add_car
from cars.models import BallastPiece, Car
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed, parse
from events.actions.entries import enter
from events.actions.events import add_event_class, plan_event, start_event
from events.actions.rule_sets import add_rule, draft_rule_set, publish_rule_set
from events.actions.scales import add_scale_set
from events.actions.weighing import weigh
from events.models import Entry, Event, EventClass, Finding, RuleSet, ScaleSet, WeighIn
from teams.actions.drivers import add_driver
from teams.actions.places import add_race_class, add_track
from teams.models import Driver, RaceClass, Team, Track
from tests.people import People

FIRST_DAY, LAST_DAY = date(2026, 6, 6), date(2026, 6, 7)
# When the database answers of a driver's age.
ON_THE_DAY = datetime(2026, 6, 6, 15, tzinfo=UTC)
# 320 lb, exact in kilograms.
RULES: list[tuple[str, dict[str, Any]]] = [
    ("minimum_weight", {"minimum": "145.1495584", "with_driver": True}),
    ("left_limit", {"at_most": "58"}),
    ("ballast_marked", {}),
]


def mass(text: str) -> Typed:
    """A mass as somebody types it; pounds without a unit."""
    return parse(text, Kind.MASS)


def pads(lf: str, rf: str, lr: str, rr: str) -> dict[str, Typed]:
    """Four pads as typed."""
    return {"LF": mass(lf), "RF": mass(rf), "LR": mass(lr), "RR": mass(rr)}


@dataclass
class Meeting:
    """The event with all that belongs to it."""

    people: People
    track: Track
    race_class: RaceClass
    rule_set: RuleSet
    scales: ScaleSet
    platform: ScaleSet
    event: Event
    event_class: EventClass
    car: Car
    driver: Driver
    piece: BallastPiece
    entry: Entry  # 27 Robin, of Wrens
    rival_entry: Entry  # 31 Sky, of Kestrels

    def weigh(self, total: str | None = "321", by: User | None = None, **more: Any) -> WeighIn:
        """The official weighs the Wrens' car, driver in, before the race."""
        by = by or self.people.official
        given: dict[str, Any] = {
            "entry": self.entry,
            "scale_set": self.scales,
            "stage": "entry",
            "driver_in": True,
            "total": mass(total) if total and "pads" not in more else None,
            **more,
        }
        with viewing_as(by.pk):
            return weigh(by=by, **given)

    def standing(self, entry: Entry | None = None) -> dict[str, Finding]:
        """The findings that stand, by kind of rule."""
        with viewing_as(self.people.official.pk):
            every = Finding.objects.filter(entry=entry or self.entry).select_related("rule")
            newest = max((f.batch for f in every), default=None)
            return {f.rule.kind: f for f in every if f.batch == newest}

    def outcomes(self, entry: Entry | None = None) -> dict[str, str]:
        """Their outcomes."""
        return {kind: f.outcome for kind, f in self.standing(entry).items()}


def publish_rules(
    people: People,
    race_class: RaceClass,
    rules: Sequence[tuple[str, Mapping[str, Any]]],
    *,
    valid_from: date = date(2026, 1, 1),
    decision: str = "reading",
) -> RuleSet:
    """A published version with these rules."""
    by = people.steward
    with viewing_as(by.pk):
        rule_set = draft_rule_set(
            by=by, race_class=race_class, valid_from=valid_from, decision=decision
        )
        for kind, parameters in rules:
            add_rule(by=by, rule_set=rule_set, kind=kind, parameters=parameters)
        return publish_rule_set(by=by, rule_set=rule_set)


def make_meeting(
    people: People,
    rules: Sequence[tuple[str, Mapping[str, Any]]] = RULES,
    *,
    decision: str = "reading",
    started: bool = True,
) -> Meeting:
    """The event; see the module."""
    steward = people.steward
    with viewing_as(steward.pk):
        track = add_track(by=steward, club=people.club, name="Fern Oval", surface="paved")
        race_class = add_race_class(by=steward, club=people.club, name="Junior")
        chassis = add_chassis(by=steward, club=people.club, name="Wisp")
        scales = add_scale_set(
            by=steward, club=people.club, name="Four pads", division=mass("0.2 lb")
        )
        platform = add_scale_set(
            by=steward, club=people.club, name="Platform", division=mass("0.1 kg"), pads=1
        )
    rule_set = publish_rules(people, race_class, rules, decision=decision)
    with viewing_as(steward.pk):
        event = plan_event(
            by=steward,
            club=people.club,
            track=track,
            name="June Meeting",
            starts_on=FIRST_DAY,
            ends_on=LAST_DAY,
        )
        event_class = add_event_class(by=steward, event=event, race_class=race_class)
        if started:
            event = start_event(by=steward, event=event, another_day=True)
    event_class.event = event

    def field(by: User, team: Team, number: str, name: str) -> tuple[Car, Driver, Entry]:
        with viewing_as(by.pk):
            car = add_car(by=by, team=team, number=number, chassis=chassis)
            driver = add_driver(by=by, team=team, display_name=name)
            return car, driver, enter(by=by, event_class=event_class, car=car, driver=driver)

    car, driver, entry = field(people.chief, people.team, "27", "Robin")
    _, _, rival_entry = field(people.rival, people.rival_team, "31", "Sky")
    with viewing_as(people.chief.pk):
        piece = add_ballast_piece(
            by=people.chief, team=people.team, label="27", marked_mass=mass("4 lb"), car=car
        )
    return Meeting(
        people=people,
        track=track,
        race_class=race_class,
        rule_set=rule_set,
        scales=scales,
        platform=platform,
        event=event,
        event_class=event_class,
        car=car,
        driver=driver,
        piece=piece,
        entry=entry,
        rival_entry=rival_entry,
    )
