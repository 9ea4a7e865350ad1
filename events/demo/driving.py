"""Days at the track, drawn from what is true of a car and its driver.

A lap = what the track takes + what is still to be learned + the day + the day's trend + the run's
own scatter + the changes that stand + worn tyres + the lap's own scatter, each like the one before.
Deterministic: the same fixture gives the same laps on whatever day it is loaded.
"""

import math
import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from events.demo.feels import Feels
from events.demo.lap_times import (
    at_a_glance,
    by_stopwatch,
    laps_about,
    seems_faster,
    with_caution,
)
from events.demo.track_days import FORTNIGHT, DemoDay, DemoRun, Turned, Weekend, calendar
from events.demo.truth import DrivenSeason, TrueCar, TrueEffect, Truth

# A sheet as set is made two days after the weekend; nobody drives on the day after it.
FIRST_DAY, LAST_DAY = 4, 13
TRIALS = ("ABAB", "ABBA", "AABB", "ABABAB", "AAABBB", "ABA")
RACE = ("practice", "practice", "practice", "heat", "heat", "main")
SWAPPED = "1"  # the unit of a change that is a swap
COLDEST, WARMER = 14.0, 5.0  # degrees C: of a day, and from one state of the surface to the next
STATES = {"paved": ("cold", "warm", "hot"), "dirt": ("tacky", "dusty", "dry-slick")}
HIT_IN = 3  # the run of the day that ends at the wall


@dataclass(frozen=True, slots=True)
class Plan:
    """What is driven on a day: A without the change, B with it, and so many runs more."""

    groups: str
    effect: TrueEffect | None = None
    more: int = 0
    happened: Mapping[str, Any] = field(default_factory=dict)


class Driving:
    """Drives one car through its seasons, a weekend at a time."""

    def __init__(self, truth: Truth, car: TrueCar) -> None:
        self.truth, self.car = truth, car
        self.random = random.Random(f"driving {car.number}")  # noqa: S311 - figures of a demo
        self.standing: list[Turned] = []
        self.number = self.days = self.tyre_laps = 0
        # What stood changed when the car was found, by weekend; of those driven so far.
        self.found_with: dict[int, list[Turned]] = {}

    def seasons(self) -> Iterator[DemoDay]:
        """Every day, the oldest first."""
        weekends = iter(enumerate(calendar(self.car)))
        for season in self.car.seasons:
            for _ in range(season.weekends):
                number, weekend = next(weekends)
                yield from self._after(number, weekend, season)

    def _after(self, number: int, weekend: Weekend, season: DrivenSeason) -> Iterator[DemoDay]:
        """The days driven on the sheet as set after a weekend; the last of them is a race."""
        self.standing, self.number = [], 0
        chosen = self.random.sample(range(FIRST_DAY, LAST_DAY + 1), season.days - 1)
        for place, later in enumerate([*sorted(chosen), FORTNIGHT]):
            day = self._day(weekend.ago - later, number, weekend.goes_to)
            day.is_race = later == FORTNIGHT
            plan = self._plan(day, season, first=place == 0)
            if plan is not None:
                self._drive(day, season, plan)
                self.days += 1
                yield day
        self.found_with[number + 1] = list(self.standing)

    def _day(self, ago: int, weekend: int, surface: str) -> DemoDay:
        warm = self.random.uniform(COLDEST, COLDEST + 3 * WARMER)
        damp = ago > 0 and self.random.random() < self.truth.share("damp")
        return DemoDay(
            ago=ago,
            weekend=weekend,
            surface=surface,
            by_crew=self.random.random() < 0.4,
            temperature=round(warm, 1),
            humidity=self.random.randint(35, 90),
            state="damp" if damp else STATES[surface][min(2, int((warm - COLDEST) // WARMER))],
        )

    def _plan(self, day: DemoDay, season: DrivenSeason, *, first: bool) -> Plan | None:
        """A trial, a day too short to tell, or runs as the car stands; tonight what is stated."""
        if day.ago == 0:
            tonight = self.car.tonight
            return Plan(tonight.groups, tonight.effect) if tonight else None
        if day.is_race:
            return Plan("A" * len(RACE))
        happened = self.car.happened.get(day.weekend, {}) if first else {}
        count = self.random.randint(*season.runs)
        dice, effect = self.random.random(), self._effect(day.surface)
        trial, short = self.truth.share("trial"), self.truth.share("short")
        if happened or effect is None or dice > trial + short:
            return Plan("A" * count, happened=happened)
        if dice > trial:
            return Plan("AB", effect)
        groups = self.random.choice(TRIALS)[:count]
        return Plan(groups, effect, count - len(groups))

    def _effect(self, surface: str) -> TrueEffect | None:
        """A change to try: none of something that stands changed already."""
        taken = {turned.place for turned in self.standing}
        found = [e for e in self.car.effects if e.surface == surface and e.place not in taken]
        return self.random.choice(found) if found else None

    def _drive(self, day: DemoDay, season: DrivenSeason, plan: Plan) -> None:
        """The day's runs, with what is changed between them."""
        note = self._swap(day, plan)
        feels = Feels(self.random, self.truth, plan.effect)
        level, slope = self._level(day), self.random.uniform(*self.truth.ends("trend"))
        day.by_hand = not day.is_race and self.random.random() < self.truth.share("by_hand")
        day.trial = plan.effect
        tried: dict[str, list[float | None]] = {"A": [], "B": []}
        for order in range(1, len(plan.groups) + plan.more + 1):
            group = plan.groups[order - 1 : order] or seems_faster(tried)
            self._set(day, order, plan.effect, on=group == "B")
            middle = level + slope * order + self.random.gauss(0.0, self.car.driver.run_scatter)
            run = self._run(day, season, order, middle + self._worn() + self._changed())
            run.group, run.note, note = group, note, ""
            run.said, run.saw = feels.said(group), feels.saw(group)
            day.runs.append(run)
            tried[group].append(at_a_glance(run.seconds))
        if len(plan.groups) > 2 and day.ago:
            # What seemed slower does not stay on the car until the next day.
            self._set(day, len(day.runs) + 1, plan.effect, on=seems_faster(tried) == "B")
        if plan.happened.get("what") == "crash":
            _crash(day, plan.happened)

    def _level(self, day: DemoDay) -> float:
        driver, driving = self.car.driver, self.truth.driving
        learning = driver.gains * math.exp(-self.days / driver.gains_in_days)
        damp = driving["damp"] if day.state == "damp" else 0.0
        air = driving["a_degree"] * (day.temperature - 20.0)
        own = self.random.gauss(0.0, driver.day_spread)
        return float(self.car.laps_take[day.surface] + learning + damp + air + own)

    def _worn(self) -> float:
        return float(self.truth.driving["worn"]) * self.tyre_laps / 100.0

    def _changed(self) -> float:
        return sum(turned.seconds for turned in self.standing)

    def _swap(self, day: DemoDay, plan: Plan) -> str:
        """Worn tyres and broken parts are swapped before the first run; what is noted of it."""
        if plan.happened.get("what") == "swap":
            part = plan.happened["adjuster"], plan.happened["spot"]
            self._turn(day, Turned(1, *part, Decimal(1), SWAPPED))
            return str(plan.happened["note"])
        if self.tyre_laps < self.truth.driving["tyre_life"] or not day.ago:
            return ""
        self.tyre_laps = 0
        self._turn(day, Turned(1, "tyre", "RR", Decimal(1), SWAPPED))
        return "RR tyre worn down: swapped."

    def _set(self, day: DemoDay, order: int, effect: TrueEffect | None, *, on: bool) -> None:
        """The change is on the car, or off it, before this run."""
        if effect is None:
            return
        stands = [turned for turned in self.standing if turned.place == effect.place]
        if on and not stands:
            change = Turned(order, *effect.place, effect.amount, effect.unit, effect.seconds)
            self._turn(day, change)
        elif stands and not on:
            (back,) = stands
            self.standing.remove(back)
            undone = Turned(order, *back.place, -back.amount, back.unit, puts_back=back.number)
            self._turn(day, undone, stands=False)

    def _turn(self, day: DemoDay, turned: Turned, *, stands: bool = True) -> None:
        self.number += 1
        turned.number = self.number
        day.turned.append(turned)
        if stands:
            self.standing.append(turned)

    def _run(self, day: DemoDay, season: DrivenSeason, order: int, middle: float) -> DemoRun:
        kind = RACE[order - 1] if day.is_race and day.ago else "practice"
        count = self.random.randint(*season.laps)
        self.tyre_laps += count
        seconds = laps_about(middle, count, self.car.driver, self.truth, self.random)
        if kind != "practice":
            seconds = with_caution(seconds, self.truth, self.random)
        if day.by_hand:
            seconds = by_stopwatch(seconds, self.random)
        untimed = day.ago and self.random.random() < self.truth.share("no_laps")
        places = 2 if day.by_hand else 3
        return DemoRun(
            order=order,
            kind=kind,
            seconds=[] if untimed else [round(each, places) for each in seconds],
            finish=None if kind == "practice" else self.random.randint(1, 6),
        )


def _crash(day: DemoDay, happened: Mapping[str, Any]) -> None:
    """A run ends at the wall; the next goes out after a check."""
    hit = day.runs[HIT_IN - 1]
    hit.seconds = hit.seconds[:5]
    if hit.seconds:
        hit.seconds[-1] = round(hit.seconds[-1] + 4.0, 3)
    hit.damage, hit.spots = happened["damage"], tuple(happened["spots"])
    hit.note = happened["note"]
    day.weighed_before = HIT_IN + 1
