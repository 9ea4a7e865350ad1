"""What truly came of the changes that the demo's people tried, beside what 'did it help' says."""

import json
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from cars.mechanics.helped import Help, TimedRun, did_it_help
from cars.mechanics.laps import RunLaps
from events.demo.driving import Driving
from events.demo.track_days import DemoDay
from events.demo.truth import TrueEffect, Truth, truth_of

FIXTURE = Path(__file__).resolve().parents[2] / "fixtures" / "demo" / "runs.json"
RECORD = 300  # runs at most, the newest
ENOUGH = 8  # timed runs of each kind


@dataclass(frozen=True)
class Tried:
    """A change, on one day or on all days it was tried; the truth and what is said."""

    car: str
    effect: TrueEffect
    before: int
    after: int
    said: Help

    @property
    def covers(self) -> bool:
        return self.said.low_s <= self.effect.seconds <= self.said.high_s

    @property
    def is_contrary(self) -> bool:
        """Faster of what is truly slower, or the other way round."""
        wrong = {"faster": self.effect.seconds > 0.0, "slower": self.effect.seconds < 0.0}
        return wrong.get(self.said.verdict, False)

    def __str__(self) -> str:
        said = self.said
        return (
            f"{self.car:>3} {self.effect.name:<52} {self.before:3d} {self.after:3d} runs; "
            f"true {self.effect.seconds:+.2f}, said {said.difference_s:+.2f} "
            f"({said.low_s:+.2f} to {said.high_s:+.2f}) {said.verdict}"
            f"{'' if self.covers else '; not covered'}"
        )


def demo_truth() -> Truth:
    """The fixture that the demo's runs are drawn from."""
    return truth_of(json.loads(FIXTURE.read_text()))


def on_each_day(truth: Truth) -> Iterator[Tried]:
    """Each day of more than a pair of runs by itself, with the runs before it as the record."""
    for number, car in truth.cars.items():
        record: dict[str, list[TimedRun]] = defaultdict(list)
        for day in Driving(truth, car).seasons():
            before, after = _timed(day, "A"), _timed(day, "B")
            if day.trial and before and after and len(day.runs) > 2:
                said = did_it_help(before, after, record[day.surface][-RECORD:])
                yield Tried(number, day.trial, len(before), len(after), said)
            record[day.surface] += before + after


def over_all_days(truth: Truth) -> Iterator[Tried]:
    """Each change with all the runs of the days on which it was tried, where they are enough."""
    for number, car in truth.cars.items():
        days = list(Driving(truth, car).seasons())
        record = [(day.surface, run) for day in days for run in _timed(day, "A") + _timed(day, "B")]
        for effect in car.effects:
            before, after = (
                [run for day in days if day.trial is effect for run in _timed(day, group)]
                for group in "AB"
            )
            if min(len(before), len(after)) >= ENOUGH:
                of_surface = [run for surface, run in record if surface == effect.surface]
                said = did_it_help(before, after, of_surface)
                yield Tried(number, effect, len(before), len(after), said)


def _timed(day: DemoDay, group: str) -> list[TimedRun]:
    """The day's runs of a group that have laps, marked as the page proposes."""
    return [
        TimedRun(
            day=-day.ago,
            order=run.order,
            laps=RunLaps.proposed(run.seconds, by_hand=day.by_hand),
            setup=(day.weekend, run.group),
        )
        for run in day.runs
        if run.group == group and run.seconds
    ]
