"""The club's classes, rules and scales, last season's meetings and the one under way."""

import random
from datetime import date, timedelta
from typing import Any

from cars.models import BallastPiece
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed, parse
from events.actions.ballast import check_ballast
from events.actions.entries import enter
from events.actions.events import (
    add_event_class,
    end_event,
    plan_event,
    publish_findings,
    start_event,
)
from events.actions.rule_sets import add_rule, draft_rule_set, publish_rule_set
from events.actions.scale_checks import LoadRead, check_scales
from events.actions.scales import add_scale_set
from events.actions.weighing import weigh
from events.demo.cast import Cast
from events.demo.garage import Runner
from events.demo.pictures import piece_drawn
from events.models import Entry, Event, EventClass, ScaleSet
from teams.actions.places import add_race_class
from teams.models import Club, RaceClass, Track

POUND = 0.45359237


class Meetings:
    """Builds everything about events."""

    def __init__(self, cast: Cast, club: Club, given: dict[str, Any], today: date) -> None:
        self.cast, self.club, self.given, self.today = cast, club, given, today
        self.classes: dict[str, RaceClass] = {}
        self.minimum = {c["name"]: parse(c["minimum"], Kind.MASS) for c in given["classes"]}
        self.scales: list[ScaleSet] = []
        self.random = random.Random("meetings")  # noqa: S311 - figures of a demo

    def add_classes(self, by: User) -> None:
        """Classes with their published rules, and the club's scales."""
        for given in self.given["classes"]:
            race_class = add_race_class(by=by, club=self.club, name=given["name"])
            self.classes[race_class.name] = race_class
            rules = draft_rule_set(
                by=by, race_class=race_class, valid_from=self.today - timedelta(days=720)
            )
            for kind, parameters in self._rules(given):
                add_rule(by=by, rule_set=rules, kind=kind, parameters=parameters)
            publish_rule_set(by=by, rule_set=rules)
        for given in self.given["scale_sets"]:
            division = parse(given["division"], Kind.MASS)
            self.scales.append(
                add_scale_set(by=by, club=self.club, name=given["name"], division=division)
            )

    def _rules(self, given: dict[str, Any]) -> list[tuple[str, dict[str, Any]]]:
        largest = parse(self.given["largest_piece"], Kind.MASS).value
        ages = {"at_least": given["youngest"], "at_most": given["oldest"]}
        minimum = {"minimum": str(self.minimum[given["name"]].value), "with_driver": True}
        return [
            ("minimum_weight", minimum),
            ("driver_age", ages),
            ("left_limit", {"at_most": "60"}),
            ("ballast_marked", {}),
            ("ballast_largest_piece", {"at_most": str(largest)}),
            ("ballast_fixed", {}),
        ]

    def hold(self, name: str, track: Track, day: date, runners: list[Runner]) -> Event:
        """A meeting that is over, with the weights of its cars, published."""
        event, entries = self._open(name, track, day, runners)
        self._weigh_all(event, entries, everything=True)
        with self.cast.acting("maren") as by:
            end_event(by=by, event=event)
            publish_findings(by=by, event=event)
        return event

    def begin(self, name: str, track: Track, runners: list[Runner]) -> Event:
        """The meeting under way: some cars weighed, some in the queue."""
        event, entries = self._open(name, track, self.today, runners)
        self._weigh_all(event, entries, everything=False)
        return event

    def plan(self, name: str, track: Track, day: date) -> Event:
        """A meeting to come, open for entries."""
        with self.cast.acting("maren") as by:
            event = self._plan(by, name, track, day)
            self._add_classes_to(by, event)
        return event

    def _plan(self, by: User, name: str, track: Track, day: date) -> Event:
        return plan_event(
            by=by,
            club=self.club,
            track=track,
            name=name,
            starts_on=day,
            ends_on=day + timedelta(days=1),
        )

    def _add_classes_to(self, by: User, event: Event) -> dict[str, EventClass]:
        return {
            name: add_event_class(by=by, event=event, race_class=race_class)
            for name, race_class in self.classes.items()
        }

    def _open(
        self, name: str, track: Track, day: date, runners: list[Runner]
    ) -> tuple[Event, list[Entry]]:
        with self.cast.acting("maren") as by:
            event = self._plan(by, name, track, day)
            classes = self._add_classes_to(by, event)
        entries = []
        for runner in runners:
            with self.cast.acting(runner.chief) as by:
                event_class = classes[str(runner.car.race_class)]
                entries.append(
                    enter(by=by, event_class=event_class, car=runner.car, driver=runner.driver)
                )
        with self.cast.acting("maren") as by:
            start_event(by=by, event=event, another_day=True)
        return event, entries

    def _check_scales(self) -> None:
        """Before the first car; one set stays unchecked, as it happens."""
        with self.cast.acting("della") as by:
            shown = {"LF": "80.0 lb", "RF": "80.2 lb", "LR": "80.0 lb", "RR": "79.8 lb"}
            mass = parse("80 lb", Kind.MASS)
            check_scales(
                by=by,
                scale_set=self.scales[0],
                loads=[LoadRead(pad, mass, parse(text, Kind.MASS)) for pad, text in shown.items()],
                pads_level=True,
                level_note="water level and straight edge",
            )

    def _weigh_all(self, event: Event, entries: list[Entry], *, everything: bool) -> None:
        self._check_scales()
        for number, entry in enumerate(entries):
            if not everything and number % 5 == 4:
                continue
            with self.cast.acting("ossian" if number % 2 else "della") as by:
                mine = Entry.objects.select_related("event_class__race_class", "event").get(
                    pk=entry.pk
                )
                if everything or number % 3 != 1:
                    self._look_at_ballast(by, mine, photographed=not everything)
                self._weigh(by, mine, over=(2.4, 5.0, 0.1, -1.2, 8.2, 1.0)[number % 6])

    def _weigh(self, by: User, entry: Entry, over: float) -> None:
        minimum = float(self.minimum[entry.event_class.race_class.name].value) / POUND
        total = minimum + over + (self.random.random() if over > 1 else 0)
        spread = {"LF": 0.2375, "RF": 0.2075, "LR": 0.3525, "RR": 0.2025}
        pads = {spot: self._pad(total * share) for spot, share in spread.items()}
        weigh(
            by=by,
            entry=entry,
            scale_set=self.scales[0],
            stage="after",
            driver_in=True,
            fuel_note="as it came off the track",
            pads=pads,
        )

    def _pad(self, pounds: float) -> Typed:
        return parse(f"{round(pounds * 5) / 5:.1f} lb", Kind.MASS)

    def _look_at_ballast(self, by: User, entry: Entry, *, photographed: bool) -> None:
        pieces = BallastPiece.objects.filter(car_id=entry.car_id).select_related("mount")
        for number, piece in enumerate(pieces):
            check_ballast(
                by=by,
                entry=entry,
                piece=piece,
                label_legible=True,
                label=piece.label,
                marked_mass=parse(piece.marked_mass_typed, Kind.MASS),
                weighed_mass=None if number else parse(piece.marked_mass_typed, Kind.MASS),
                place=str(piece.mount or ""),
                fixed=True,
                photo=piece_drawn(piece.label, piece.marked_mass_typed) if photographed else None,
            )
