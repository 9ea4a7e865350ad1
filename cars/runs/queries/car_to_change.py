"""A car as it stands, to be asked what changes would make of it: its figures, seats and parts."""

from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Protocol

from cars.catalogue.adjusters import SPRING_SEAT, adjusters_at, touch
from cars.catalogue.keys import Key
from cars.catalogue.staleness import SOURCES, makes_stale
from cars.figures.derived import Figure
from cars.mechanics import Corners
from cars.mechanics.linear_response import LinearResponse, linear_response
from cars.models import Part, TrackChange
from cars.plans.queries.block_marks import Pairs, pairs_of
from cars.runs.queries.car_now import PRESSURE, CarNow, start_of, sum_of_turns
from cars.runs.queries.moved_ballast import BallastOnCar, ballast_on
from cars.runs.queries.team_parts import KnownTyre, team_springs, team_tyres

WEIGH_AGAIN = "Something else was changed since: weigh the car again."


class Change(Protocol):
    """What is asked of a change here: a row of a table, or of the car."""

    @property
    def adjuster(self) -> str: ...
    @property
    def spot(self) -> str: ...
    @property
    def amount(self) -> Decimal: ...
    @property
    def unit(self) -> str: ...


@dataclass(frozen=True, slots=True, eq=False)
class SeatsNow:
    """What four figures answer to turns, and the turns made since they were read."""

    linear: LinearResponse
    turns: Corners


@dataclass(eq=False)
class CarToChange:
    """A car as it stands, to be asked many times what a change would make of it.

    `corner`: the radius of the track's corner, mm, where it is known. What the team has of springs,
    tyres and ballast, and the block marks of the car, is read when a change asks for it, once.
    """

    now: CarNow
    corner: float | None = None

    @cached_property
    def figures(self) -> dict[Key, Figure]:
        """Every figure that the car is to be taken for now."""
        now = self.now
        keys = {*now.table.on_sheet.figures, *now.expected, *now.read}
        found = ((key, now.figure(key)) for key in keys)
        return {key: figure for key, figure in found if figure is not None}

    def touched(self, change: Change) -> list[str]:
        """Measures that stand on the car now and that the change calls for again, in order."""
        known = self.now.table.on_sheet.known
        taken = {key.measure for key in self.figures}
        found = [slug for slug in taken if SOURCES.get(slug, slug) in self._made_stale(change)]
        order = list(known.measures)
        return sorted(found, key=order.index)

    def _made_stale(self, change: Change) -> Collection[str]:
        """Measures of steps that the change's step makes stale, and those that read it there."""
        key = change.adjuster, change.spot
        if key not in self._stale:
            known = self.now.table.on_sheet.known
            steps = {
                step.pk
                for step in known.steps
                if makes_stale(change, "", step.pk, change.spot, known)
            }
            own = {
                measure
                for adjuster in adjusters_at(change.adjuster, change.spot)
                for measure in adjuster.measures
                if any(touch(change.spot, spot) for spot in known.measures[measure].spots)
            }
            self._stale[key] = own | {
                slug for slug, measure in known.measures.items() if measure.step_id in steps
            }
        return self._stale[key]

    @cached_property
    def _stale(self) -> dict[tuple[str, str], set[str]]:
        return {}

    @cached_property
    def seats(self) -> tuple[dict[str, SeatsNow], str]:
        """Weights and heights with what the seats do to them, and why one of them is not there."""
        table, seats, missing = self.now.table, {}, " ".join(self.now.table.missing)
        if table.calibrated is None or table.loads is None:
            return {}, missing
        made = self.now.standing
        for measure in ("weight", "ride-height"):
            start, since = start_of(table, measure, self.now.readings)
            after = [change for change in made if since is None or change.made_at > since]
            if any(self._unsettles(change, measure) for change in after):
                missing = missing or WEIGH_AGAIN
                continue
            if start is None:
                missing = missing or table.on_sheet.lacking(measure)
                continue
            turns = sum_of_turns(change for change in after if change.adjuster == SPRING_SEAT)
            seats[measure] = SeatsNow(self._linear(measure, start), turns)
        return seats, missing

    def _unsettles(self, change: TrackChange, measure: str) -> bool:
        """Whether the four figures are not to be built on after a change made since."""
        if change.adjuster in {SPRING_SEAT, PRESSURE}:
            return False
        return measure in self._made_stale(change)

    def _linear(self, measure: str, start: Corners) -> LinearResponse:
        table = self.now.table
        if table.linear is not None and start in {table.loads, table.heights}:
            return table.linear
        assert table.calibrated is not None and table.loads is not None  # noqa: S101, PT018 (seats)
        loads = start if measure == "weight" else table.loads
        heights = table.heights if measure == "weight" else start
        return linear_response(table.calibrated, loads, heights, noise=table.noise, room=table.room)

    @cached_property
    def springs(self) -> list[Part]:
        """The team's springs with a rate."""
        return team_springs(self.now.sheet.team_id)

    @cached_property
    def tyres(self) -> list[KnownTyre]:
        """The team's tyres that were rolled out on a car."""
        return team_tyres(self.now.sheet.team_id)

    @cached_property
    def ballast(self) -> BallastOnCar:
        """The pieces on the car and on the shelf, and the mounts of its chassis."""
        return ballast_on(self.now.sheet.car)

    @cached_property
    def block_pairs(self) -> Pairs:
        """What this car's blocks gave at their marks."""
        return pairs_of(self.now.sheet.car)
