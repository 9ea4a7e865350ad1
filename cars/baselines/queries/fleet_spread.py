"""A baseline beside what teams actually run: counts, middles and spreads, never a team's figure."""

from dataclasses import dataclass
from decimal import Decimal

from django.db import connection

from cars.catalogue.keys import Key
from cars.catalogue.queries import catalogue
from cars.figures.formatting import format_figure
from cars.figures.judgement import FigureOutcome, judge
from cars.models import Baseline, BaselineValue, Measure
from clubsetup.access.models import User


@dataclass(frozen=True, slots=True)
class Run:
    """What at least five teams run of one box, canonical and rounded."""

    teams: int
    median: Decimal
    spread: Decimal  # the width of the middle half


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


def what_teams_run(baseline: Baseline) -> dict[Key, Run]:
    """What the database lets a steward know; nothing for anybody else."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM access.what_teams_run(%s)", [baseline.pk])
        return {Key(row[0], row[1]): Run(*row[2:]) for row in cursor.fetchall()}


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
