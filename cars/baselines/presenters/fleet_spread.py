"""A baseline beside what teams actually run, in the reader's units."""

from dataclasses import dataclass

from cars.baselines.queries.fleet_spread import Run, what_teams_run
from cars.catalogue.keys import Key
from cars.catalogue.queries import catalogue
from cars.figures.formatting import format_figure
from cars.figures.judgement import FigureOutcome, judge
from cars.models import Baseline, BaselineValue, Measure
from clubsetup.access.models import User


@dataclass(slots=True)
class ReviewLine:
    """One box: the target, and what teams run where enough of them say it."""

    key: Key
    measure: Measure
    target: str = ""
    tolerance: str = ""
    teams: int = 0
    median: str = ""
    spread: str = ""
    is_outside: bool = False  # the middle lies outside target ± tolerance
    standard: BaselineValue | None = None  # the target itself
    run: Run | None = None  # what is said of the teams, in figures

    @property
    def box(self) -> str:
        """'Ride height LF'."""
        return self.measure.name + ("" if self.key.spot == "car" else f" {self.key.spot}")


def review(baseline: Baseline, viewer: User) -> list[ReviewLine]:
    """Every box with a target or with figures of enough teams, in the order of work."""
    known, units = catalogue(), viewer.units(baseline.club.units())
    run = what_teams_run(baseline)
    targets = {Key(value.measure_id, value.spot): value for value in baseline.values.all()}
    lines = []
    for measure in known.measures.values():
        for key in (Key(measure.pk, spot) for spot in measure.spots):
            target, spread = targets.get(key), run.get(key)
            if target is None and spread is None:
                continue
            line = ReviewLine(key, measure, standard=target, run=spread)
            if target is not None:
                line.target = format_figure(target.target, measure, units)
                line.tolerance = format_figure(target.tolerance, measure, units, delta=True)
            if spread is not None:
                line.teams = spread.teams
                line.median = format_figure(spread.median, measure, units)
                line.spread = format_figure(spread.spread, measure, units, delta=True)
                line.is_outside = target is not None and _outside(spread, target)
            lines.append(line)
    return lines


def _outside(run: Run, target: BaselineValue) -> bool:
    judged = judge(run.median, target.target, target.tolerance)
    return judged.outcome is FigureOutcome.OFF
