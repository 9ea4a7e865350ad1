"""What to turn at the spring seats: plans from a sheet's readings, and 'what if'."""

from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from functools import cached_property
from uuid import UUID

from cars.catalogue.keys import Key
from cars.figures.judgement import FigureOutcome, Standard, judge, worst
from cars.figures.prediction_format import as_decimal
from cars.mechanics import (
    CORNER_NAMES,
    Calibrated,
    Corners,
    Noise,
    response,
)
from cars.mechanics.goals import Goal
from cars.mechanics.linear_response import LinearResponse, Prediction, linear_response
from cars.mechanics.turnplan import Room, TurnPlan, TurnTarget
from cars.mechanics.turns import plan_turns
from cars.models import Sheet
from cars.plans.queries.calibration import NOBODY_WEIGHED, Calibration, calibration_of
from cars.plans.queries.fingerprint import fingerprint_of
from cars.plans.queries.plan_outcomes import noise_of
from cars.plans.queries.sheet_figures import SheetFigures, sheet_figures
from clubsetup.access.models import User

CROSS = Key("cross", "car")
STEP = 0.25  # turns
PERCENT = 100.0
USUAL_CROSS_TOLERANCE = 0.5  # percent; common practice, no source
FIRST = "Take the four ride heights and the four weights first."


@dataclass(eq=False)
class TurnTable:
    """All that a turn plan needs of one sheet, or what is missing."""

    on_sheet: SheetFigures
    calibration: Calibration | None
    loads: Corners | None
    heights: Corners | None
    target: TurnTarget | None
    cross_asked: float | None = None  # percent
    missing: list[str] = field(default_factory=list)

    @property
    def ready(self) -> bool:
        """Something can be predicted."""
        return self.loads is not None and self.calibrated is not None

    @property
    def calibrated(self) -> Calibrated | None:
        """The car as its readings say it is."""
        return self.calibration.calibrated if self.calibration else None

    @property
    def learned(self) -> int:
        """How many changes the predictions know of."""
        return self.calibration.learned if self.calibration else 0

    @property
    def unjudged(self) -> bool:
        """Ride heights have a target, and no four readings that stand."""
        goals = self.on_sheet.targets.goals
        wanted = any(Key("ride-height", corner) in goals for corner in CORNER_NAMES)
        return wanted and self.heights is None

    @property
    def on_target(self) -> bool:
        """Everything with a target is taken, and on it as read."""
        return self.within and not self.unjudged

    @property
    def judged(self) -> str:
        """What was held against a target, in words: 'Cross and ride heights are'."""
        heights = self.target is not None and any(self.target.heights)
        if self.target is None or self.target.cross is None:
            return "Ride heights are" if heights else "Nothing is"
        return "Cross and ride heights are" if heights else "Cross is"

    @property
    def within(self) -> bool:
        """What was taken of what is aimed at is on target, as the sheet itself says."""
        return self.outcome is FigureOutcome.ON_TARGET

    @property
    def too_close(self) -> bool:
        """Nothing that is aimed at is surely off, and not all of it is surely on."""
        return self.outcome is FigureOutcome.TOO_CLOSE

    @cached_property
    def outcome(self) -> FigureOutcome:
        """Of cross and ride heights together, as read; no target where none is aimed at."""
        if self.target is None or self.loads is None:
            return FigureOutcome.NO_TARGET
        return worst(self._judged(key) for key in self.aimed)

    def _judged(self, key: Key) -> FigureOutcome:
        figure, wanted = self.on_sheet.figures[key], self.standards[key]
        return judge(figure.value, wanted.target, wanted.tolerance, figure.reach).outcome

    @property
    def aimed(self) -> list[Key]:
        """The boxes that a plan is after."""
        if self.target is None:
            return []
        heights = zip(CORNER_NAMES, self.target.heights, strict=True)
        aimed = [Key("ride-height", corner) for corner, goal in heights if goal is not None]
        return [CROSS, *aimed] if self.target.cross is not None else aimed

    @cached_property
    def standards(self) -> dict[Key, Standard]:
        """What figures are judged by; the cross asked for stands above the target."""
        standards = dict(self.on_sheet.targets.standards)
        if self.cross_asked is not None:
            usual = Standard(Decimal(0), as_decimal(USUAL_CROSS_TOLERANCE))
            asked = Standard(as_decimal(self.cross_asked), standards.get(CROSS, usual).tolerance)
            standards[CROSS] = asked
        return standards

    @cached_property
    def noise(self) -> Noise:
        """Of weighing this car twice with these tools."""
        return noise_of(self.on_sheet.weighed)

    @cached_property
    def room(self) -> Room:
        """Thread left at each seat, turns."""
        stated, _ = self.on_sheet.chassis
        return self.on_sheet.room(stated.thread) if stated else Room.same(0.0)

    @cached_property
    def linear(self) -> LinearResponse | None:
        """What turns do to the car as it stands; None while something is missing."""
        if self.calibrated is None or self.loads is None:
            return None
        return linear_response(
            self.calibrated, self.loads, self.heights, noise=self.noise, room=self.room
        )

    @property
    def started_from(self) -> list[UUID]:
        """The readings that all this is computed from."""
        return sorted(row.pk for row in self.on_sheet.weighed)

    @property
    def seen(self) -> str:
        """The fingerprint of those readings."""
        return fingerprint_of(self.started_from)


def turn_table(
    sheet: Sheet,
    viewer: User,
    *,
    targets_from: str = "",
    cross: float | None = None,
    until: datetime | None = None,
) -> TurnTable:
    """Gathers what a plan for this sheet needs; ``cross`` (percent) stands above the target's.

    `until`: as the sheet stood then.
    """
    on_sheet = sheet_figures(sheet, viewer, targets_from, until=until)
    loads, heights = on_sheet.corners("weight"), on_sheet.corners("ride-height")
    chassis, trouble = on_sheet.chassis
    calibration = None
    if chassis is not None:
        calibration = calibration_of(
            sheet.car, on_sheet.known, stated=chassis, loads=loads or NOBODY_WEIGHED
        )
        trouble = "" if calibration.calibrated else calibration.trouble
    target = _target(on_sheet, cross, with_heights=heights is not None)
    table = TurnTable(on_sheet, calibration, loads, heights, target, cross)
    table.missing = _missing(table, trouble)
    return table


def _target(
    on_sheet: SheetFigures, cross: float | None, *, with_heights: bool
) -> TurnTarget | None:
    goals = on_sheet.targets.goals
    wanted = goals.get(CROSS)
    if cross is not None:
        wanted = Goal(cross, wanted.tolerance if wanted else USUAL_CROSS_TOLERANCE)
    share = Goal(wanted.value / PERCENT, wanted.tolerance / PERCENT) if wanted else None
    heights = tuple(
        goals.get(Key("ride-height", c)) if with_heights else None for c in CORNER_NAMES
    )
    if share is None and not any(heights):
        return None
    return TurnTarget(share, heights)


def _missing(table: TurnTable, trouble: str) -> list[str]:
    on_sheet, missing = table.on_sheet, []
    if table.loads is None:
        taken = any(Key("weight", corner) in on_sheet.figures for corner in CORNER_NAMES)
        missing.append(on_sheet.lacking("weight") if taken else FIRST)
    if trouble:
        missing.append(trouble)
    return missing


def turn_plans(table: TurnTable) -> list[TurnPlan]:
    """The best plan with one, two, three and four adjusters; none where something is missing."""
    if table.calibrated is None or table.loads is None or table.target is None:
        return []
    car = response(table.calibrated.chassis)
    return plan_turns(
        table.loads, table.heights, car, table.target, step=STEP, room=table.room, u=table.noise.pad
    )


def predict_turns(table: TurnTable, turns: Corners) -> Prediction:
    """What ``turns`` are predicted to give, with the uncertainty of the next readings.

    Raises BadInput for turns no seat makes, ValueError where the table is not ready.
    """
    if table.linear is None:
        raise ValueError("nothing can be predicted from this sheet yet")
    return table.linear.predict(turns)
