"""What a turn plan was predicted to give, and what the scales and the tape then said."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from statistics import fmean
from typing import NamedTuple, Protocol
from uuid import UUID

from cars.catalogue.adjusters import SPRING_SEAT
from cars.catalogue.queries import Catalogue
from cars.catalogue.staleness import makes_stale
from cars.mechanics import CORNER_NAMES, Corners, Noise, Observation
from clubsetup.quantities.uncertainty import from_step

WEIGHT, HEIGHT = "weight", "ride-height"

# How one weighing differs from the next besides the tool's step: pads met at another height
# (mm), fuel and clothing (kg), a driver who sits otherwise (kg mm). Our judgement, common
# practice, no source.
LEVEL, TOTAL, SHIFT = 0.3, 0.3, 300.0
# Where no tool's step is known: half a pound, a sixteenth of an inch.
USUAL_PAD, USUAL_TAPE = 0.2268, 1.5875


class PlanFacts(NamedTuple):
    """What is learned from of a plan: a car may have hundreds."""

    pk: UUID
    sheet_id: UUID
    accepted_at: datetime
    turns: Sequence[Decimal]
    loads_before: Sequence[float]
    heights_before: Sequence[float] | None
    spring_rate: Sequence[float] | None


class ReadAfter(NamedTuple):
    """What is asked of a weight or a height: there may be thousands."""

    sheet_id: UUID
    measure_id: str
    spot: str
    take: int
    value: Decimal | None
    resolution: Decimal | None
    taken_at: datetime


class MadeAfter(NamedTuple):
    """What is asked of a change."""

    sheet_id: UUID
    adjuster: str
    spot: str
    amount: Decimal
    made_at: datetime


class WithResolution(Protocol):
    """What is asked of a reading of how well it was read."""

    @property
    def measure_id(self) -> str: ...
    @property
    def resolution(self) -> Decimal | None: ...


def noise_of(readings: Iterable[WithResolution]) -> Noise:
    """The uncertainty of weighing and measuring with the tools these readings were taken with."""
    steps: dict[str, float] = {WEIGHT: 0.0, HEIGHT: 0.0}
    for row in readings:
        if row.measure_id in steps and row.resolution:
            steps[row.measure_id] = max(steps[row.measure_id], float(row.resolution))
    return Noise(
        pad=from_step(steps[WEIGHT] or USUAL_PAD),
        tape=from_step(steps[HEIGHT] or USUAL_TAPE),
        level=LEVEL,
        total=TOTAL,
        shift=SHIFT,
    )


@dataclass(frozen=True, slots=True)
class PlanOutcome:
    """What was read after a plan's turns; ``turns`` holds later ones at the seats too.

    ``loads`` kg and ``heights`` mm are None until all four were read again. ``spoilt`` is what
    else was changed before the car was weighed: then nothing can be learnt from it.
    """

    turns: Corners
    noise: Noise
    loads: Corners | None = None
    heights: Corners | None = None
    spoilt: MadeAfter | None = None


def outcome_of_plan(
    plan: PlanFacts,
    changes: Iterable[MadeAfter],
    readings: Sequence[ReadAfter],
    known: Catalogue,
) -> PlanOutcome:
    """Looks between the plan and the next change that calls for the scales again.

    Readings count when all four were taken after the last turn and before the next change of any
    other kind; a further turn at a seat is added to the plan's. Readings that another replaced
    count as well as those that stand: the last one in that time is the one.
    """
    turns = [float(turn) for turn in plan.turns]
    since, noise = plan.accepted_at, noise_of(readings)
    for change in _disturbing(plan, changes, known):
        read = _between(readings, since, change.made_at)
        if read.loads is not None:
            return PlanOutcome(Corners.of(turns), noise, read.loads, read.heights)
        if change.adjuster != SPRING_SEAT or change.spot not in CORNER_NAMES:
            return PlanOutcome(Corners.of(turns), noise, spoilt=change)
        turns[CORNER_NAMES.index(change.spot)] += float(change.amount)
        since = change.made_at
    read = _between(readings, since, None)
    return PlanOutcome(Corners.of(turns), noise, read.loads, read.heights)


def _disturbing(plan: PlanFacts, changes: Iterable[MadeAfter], known: Catalogue) -> list[MadeAfter]:
    """Later changes that call for the scales again, in the order they were made."""
    later = (change for change in changes if change.made_at > plan.accepted_at)
    scales = known.measures[WEIGHT].step_id
    return sorted(
        (
            change
            for change in later
            if any(makes_stale(change, WEIGHT, scales, spot, known) for spot in CORNER_NAMES)
        ),
        key=lambda change: change.made_at,
    )


@dataclass(frozen=True, slots=True)
class _Found:
    loads: Corners | None
    heights: Corners | None


def _between(readings: Sequence[ReadAfter], since: datetime, until: datetime | None) -> _Found:
    inside = [
        row for row in readings if row.taken_at > since and (until is None or row.taken_at < until)
    ]
    return _Found(_four(inside, WEIGHT), _four(inside, HEIGHT))


def _four(readings: Iterable[ReadAfter], measure: str) -> Corners | None:
    """The last figure of every take at the four corners, takes averaged; None unless all are."""
    last: dict[tuple[str, int], ReadAfter] = {}
    for row in sorted(readings, key=lambda row: row.taken_at):
        if row.measure_id == measure and row.value is not None:
            last[row.spot, row.take] = row
    corners = []
    for corner in CORNER_NAMES:
        takes = [float(row.value or 0) for (spot, _), row in last.items() if spot == corner]
        if not takes:
            return None
        corners.append(fmean(takes))
    return Corners.of(corners)


def observation_of(plan: PlanFacts, weighed: PlanOutcome) -> Observation | None:
    """The pair as the calibration takes it; None where it says nothing."""
    if weighed.loads is None or not any(weighed.turns):
        return None
    before = None if plan.heights_before is None else Corners.of(plan.heights_before)
    both = before is not None and weighed.heights is not None
    return Observation(
        turns=weighed.turns,
        noise=weighed.noise,
        loads_before=Corners.of(plan.loads_before),
        loads_after=weighed.loads,
        heights_before=before if both else None,
        heights_after=weighed.heights if both else None,
    )
