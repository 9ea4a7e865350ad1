"""The car as its open sheet has it, for the plans that are made from it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any

from cars.catalogue.adjusters import SPRING_SEAT
from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue, catalogue
from cars.catalogue.staleness import each_once, stale_readings
from cars.figures.derived import Figure, add_derived, figures_of, value_to_build_on
from cars.figures.formatting import format_changes
from cars.figures.judgement import FigureOutcome, judge
from cars.mechanics import CORNER_NAMES, Chassis, Corners
from cars.mechanics.turnplan import Room
from cars.mechanics.turns import USUAL_ROOM
from cars.models import Change, Reading, Sheet
from cars.plans.queries.calibration import stated_chassis
from cars.plans.queries.fingerprint import fingerprint_of
from cars.plans.queries.targets import Targets, plan_targets
from cars.sheets.queries.changes import changes_of
from cars.sheets.queries.readings import readings_of
from clubsetup.access.models import User
from clubsetup.quantities.units import Units


@dataclass(eq=False)
class SheetFigures:
    """A sheet's figures with what is stale, what is aimed at, and the chassis they mean."""

    sheet: Sheet
    units: Units
    known: Catalogue
    readings: list[Reading]
    changes: list[Change]
    targets: Targets

    @cached_property
    def figures(self) -> dict[Key, Figure]:
        """Every figure that stands, computed ones too."""
        return add_derived(figures_of(self.readings))

    @cached_property
    def stale(self) -> dict[Key, tuple[Change, ...]]:
        """What must be read again, with the changes that made it so."""
        return stale_readings(self.readings, self.changes, self.known)

    def value(self, measure: str, spot: str) -> float | None:
        """A figure that can be built on: taken, and not stale."""
        return value_to_build_on(self.figures, self.stale, Key(measure, spot))

    def corners(self, measure: str) -> Corners | None:
        """The four figures of a measure, where all can be built on."""
        values = [self.value(measure, corner) for corner in CORNER_NAMES]
        known = [value for value in values if value is not None]
        return Corners.of(known) if len(known) == len(CORNER_NAMES) else None

    def lacking(self, measure: str) -> str:
        """Why the four cannot be built on, in words; empty where they can."""
        name = self.known.measures[measure].name.lower()
        again = [corner for corner in CORNER_NAMES if Key(measure, corner) in self.stale]
        if again:
            causes = format_changes(self._causes(measure, again), self.units)
            return f"Take the {name} again at {_listed(again)}: {causes} since it was read."
        none = [corner for corner in CORNER_NAMES if Key(measure, corner) not in self.figures]
        return f"The {name} at {_listed(none)} is not taken." if none else ""

    def _causes(self, measure: str, spots: list[str]) -> tuple[Change, ...]:
        """Every change that asks for one of these boxes again, each once."""
        return each_once(each for spot in spots for each in self.stale[Key(measure, spot)])

    def seen(self, measures: Sequence[str], spot: str = "") -> str:
        """The fingerprint of the readings of these measures."""
        used = sorted(
            str(row.pk)
            for row in self.readings
            if row.measure_id in measures and spot in {"", row.spot}
        )
        return fingerprint_of(used)

    def outcome(self, measure: str, spot: str) -> FigureOutcome:
        """What a figure is to its target, as the sheet says it."""
        key = Key(measure, spot)
        figure, wanted = self.figures.get(key), self.targets.standards.get(key)
        if figure is None or key in self.stale:
            return FigureOutcome.NOT_TAKEN if figure is None else FigureOutcome.RETAKE
        if wanted is None:
            return FigureOutcome.NO_TARGET
        return judge(figure.value, wanted.target, wanted.tolerance, figure.reach).outcome

    @property
    def geometry(self) -> dict[str, Any]:
        """The chassis page's geometry with this sheet's wheelbases and springs, where noted."""
        geometry = dict(self.sheet.car.chassis.geometry)
        if not geometry:
            return geometry
        for side in ("left", "right"):
            geometry[f"wheelbase_{side}"] = (
                self.value("wheelbase", side) or geometry[f"wheelbase_{side}"]
            )
        geometry["spring_rate"] = [
            self.value("spring-rate", corner) or stated
            for corner, stated in zip(CORNER_NAMES, geometry["spring_rate"], strict=True)
        ]
        return geometry

    @property
    def springs_noted(self) -> bool:
        """At least one spring's rate is on the sheet."""
        return any(self.value("spring-rate", corner) for corner in CORNER_NAMES)

    @cached_property
    def chassis(self) -> tuple[Chassis | None, str]:
        """The chassis as the mechanics take it, or what stands in the way."""
        chassis = self.sheet.car.chassis
        if not chassis.geometry:
            return None, f"The page of the {chassis} has no geometry yet; a steward can add it."
        return stated_chassis(self.geometry)

    def room(self, thread: Corners) -> Room:
        """Turns left at each seat: letting off, the seat thread; the rest as usual.

        A seat turned since its thread was read has that much more, or less.
        """
        minus = [
            self._thread_left(corner, travel)
            for corner, travel in zip(CORNER_NAMES, thread, strict=True)
        ]
        return Room(plus=Corners.same(USUAL_ROOM), minus=Corners.of(minus))

    def _thread_left(self, corner: str, travel: float) -> float:
        rows = [
            row
            for row in self.readings
            if (row.measure_id, row.spot) == ("seat-thread", corner) and row.value is not None
        ]
        if not rows:
            return USUAL_ROOM
        row = max(rows, key=lambda each: each.taken_at)
        turned = sum(
            float(change.amount)
            for change in self.changes
            if (change.adjuster, change.spot) == (SPRING_SEAT, corner)
            and change.made_at > row.taken_at
        )
        return max(0.0, min(USUAL_ROOM, float(row.value or 0) / travel + turned))

    @property
    def threads_read(self) -> list[str]:
        """The corners whose seat thread is on the sheet."""
        return [c for c in CORNER_NAMES if Key("seat-thread", c) in self.figures]

    @property
    def weighed(self) -> list[Reading]:
        """The readings that a turn plan starts from."""
        used = ("weight", "ride-height")
        return [row for row in self.readings if row.measure_id in used]


def sheet_figures(
    sheet: Sheet, viewer: User, targets_from: str = "", *, until: datetime | None = None
) -> SheetFigures:
    """Six queries at most, for one reading as for eighty. `until`: as the sheet stood then."""
    known = catalogue()
    return SheetFigures(
        sheet=sheet,
        units=viewer.units(sheet.team.club.units()),
        known=known,
        readings=readings_of(sheet, until=until),
        changes=changes_of(sheet, until=until),
        targets=plan_targets(sheet, known, targets_from),
    )


def _listed(names: list[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else names[0]
