"""A whole sheet as somebody reads it: every box with its figure, target and judgement."""

from collections.abc import Container, Iterable
from dataclasses import dataclass, field
from functools import cached_property

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue, cached_catalogue
from cars.figures.derived import Figure
from cars.figures.judgement import FigureOutcome
from cars.models import BaselineValue, Change, Measure, Reading, Sheet, Step
from cars.models.catalogue import Taken
from cars.sheets.presenters.boxes import Box, as_box, write_box
from cars.sheets.queries.at_track import follow_track
from cars.sheets.queries.changes import changes_of
from cars.sheets.queries.sheet_boxes import readings_of, sheet_boxes
from cars.sheets.queries.targets import TargetSource, target_source_of, targets_of
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import unit_of
from clubsetup.quantities.units import Units


@dataclass(slots=True)
class SheetRow:
    """A measure with its boxes."""

    measure: Measure
    boxes: list[Box]
    unit: str = ""

    @property
    def has_targets(self) -> bool:
        """A target stands at one of its spots."""
        return any(box.target for box in self.boxes)

    @property
    def has_own(self) -> bool:
        """The team has a target of its own at one of its spots."""
        return any(box.own for box in self.boxes)

    @property
    def is_derived(self) -> bool:
        """Computed; nobody types it."""
        return self.measure.taken == Taken.DERIVED

    @property
    def is_check(self) -> bool:
        """A box to tick."""
        return self.measure.taken == Taken.DONE

    @property
    def is_words(self) -> bool:
        """Free text."""
        return self.measure.taken == Taken.WORDS


@dataclass(slots=True)
class StepView:
    """A step of the order of work with its rows."""

    step: Step
    rows: list[SheetRow] = field(default_factory=list)

    def _boxes(self) -> Iterable[Box]:
        return (box for row in self.rows if not row.is_derived for box in row.boxes)

    @property
    def taken(self) -> int:
        """Boxes that were read."""
        return sum(box.is_read for box in self._boxes())

    @property
    def standing(self) -> int:
        """Boxes that were read and need not be read again."""
        return sum(box.is_read and not box.is_retake for box in self._boxes())

    @property
    def carried(self) -> int:
        """Boxes whose figure was carried from another sheet, and not read."""
        return sum(box.is_carried for box in self._boxes())

    @property
    def refused(self) -> int:
        """Boxes in which something was typed that could not be kept."""
        return sum(bool(box.wrong) for box in self._boxes())

    @property
    def of(self) -> int:
        """Boxes there are."""
        return sum(1 for _ in self._boxes())

    @property
    def off(self) -> int:
        """Figures off their target, computed ones too; what could not be kept is no figure."""
        return self._judged_as(FigureOutcome.OFF)

    @property
    def close(self) -> int:
        """Figures too close to their tolerance to tell, computed ones too."""
        return self._judged_as(FigureOutcome.TOO_CLOSE)

    def _judged_as(self, outcome: FigureOutcome) -> int:
        return sum(box.judgement.outcome is outcome for row in self.rows for box in row.boxes)

    @property
    def retakes(self) -> int:
        """Boxes to be read again."""
        return sum(box.is_retake for box in self._boxes())


@dataclass
class SheetView:
    """The sheet with all its steps."""

    sheet: Sheet
    steps: list[StepView]
    figures: dict[Key, Figure]
    units: Units
    target_source: TargetSource | None = None  # where it was asked for

    @property
    def before_word(self) -> str:
        """What the figures of the sheet before are called beside the new ones."""
        before = self.sheet.based_on
        return "found" if before is not None and before.role == Sheet.Role.FOUND else "was"

    @property
    def carried_word(self) -> str:
        """What the sheet is called whose figures were copied to this one."""
        before = self.sheet.based_on
        return "as found" if before and before.role == Sheet.Role.FOUND else "the sheet before"

    @property
    def judged_words(self) -> str:
        """'4 of 59 off, 2 too close to tell'."""
        close = f", {self.close} too close to tell" if self.close else ""
        return f"{self.off} of {self.judged} off{close}"

    @property
    def state_words(self) -> str:
        """'Open', 'Closed, version 2'."""
        version = f", version {self.sheet.version}" if self.sheet.version > 1 else ""
        return f"{self.sheet.get_state_display()}{version}"

    @cached_property
    def boxes(self) -> dict[Key, Box]:
        """Every box by its key."""
        return {b.key: b for s in self.steps for row in s.rows for b in row.boxes}

    def box(self, measure: str, spot: str) -> Box:
        """One box. Raises KeyError where the catalogue has none."""
        return self.boxes[Key(measure, spot)]

    @property
    def taken(self) -> int:
        """Boxes that were read."""
        return sum(step.taken for step in self.steps)

    @property
    def carried(self) -> int:
        """Boxes whose figure was carried from another sheet, and not read."""
        return sum(step.carried for step in self.steps)

    @property
    def of(self) -> int:
        """Boxes there are."""
        return sum(step.of for step in self.steps)

    @property
    def open_step(self) -> Step:
        """The first step with something not taken or to be taken again; or the last."""
        for step in self.steps:
            if step.taken < step.of or step.retakes:
                return step.step
        return self.steps[-1].step

    @property
    def off(self) -> int:
        """Figures off their target."""
        return sum(step.off for step in self.steps)

    @property
    def close(self) -> int:
        """Figures too close to their tolerance to tell."""
        return sum(step.close for step in self.steps)

    @property
    def retakes(self) -> int:
        """Boxes to be read again."""
        return sum(step.retakes for step in self.steps)

    @property
    def judged(self) -> int:
        """Figures that have a target and were taken."""
        none = (FigureOutcome.NOT_TAKEN, FigureOutcome.NO_TARGET, FigureOutcome.RETAKE)
        return sum(box.judgement.outcome not in none for box in self.boxes.values())


def sheet_view(sheet: Sheet, viewer: User, *, written: Container[Key] | None = None) -> SheetView:
    """The sheet for `viewer`, in their units. As many queries for one reading as for eighty.

    `written`: these boxes alone are put in words, and nothing is said of the sheet before; all are
    judged.
    """
    units = viewer.units(sheet.team.club.units())
    readings = list(readings_of(sheet.pk))
    with_before = sheet.based_on_id if written is None else None
    before = list(readings_of(with_before)) if with_before else []
    known = cached_catalogue()
    source = target_source_of(sheet)
    targets = follow_track(sheet, source, targets_of(sheet, source, known), viewer)
    view = build(
        sheet,
        known,
        readings=readings,
        before=before,
        targets=targets,
        changes=changes_of(sheet),
        units=units,
        written=written,
    )
    view.target_source = source
    return view


def build(
    sheet: Sheet,
    known: Catalogue,
    *,
    readings: list[Reading],
    before: list[Reading],
    targets: dict[Key, BaselineValue],
    changes: list[Change],
    units: Units,
    written: Container[Key] | None = None,
) -> SheetView:
    """Puts the rows of a sheet together; asks the database nothing.

    `written`: the boxes that are put in words, where that is not all of them.
    """
    boxes = sheet_boxes(known, readings=readings, before=before, targets=targets, changes=changes)
    figures = {key: box.figure for key, box in boxes.items() if box.figure}
    steps = {step.pk: StepView(step) for step in known.steps}
    view = SheetView(sheet, list(steps.values()), figures, units)
    # Asked for only where it is told: the sheet before may not have been read with this one.
    carried_from = view.carried_word if any(box.carried for box in boxes.values()) else ""
    for measure in known.measures.values():
        row = SheetRow(measure, [])
        for spot in measure.spots:
            box = boxes[key := Key(measure.pk, spot)]
            is_written = written is None or key in written
            row.boxes.append(write_box(box, units, carried_from) if is_written else as_box(box))
        if measure.kind:
            row.unit = unit_of(Kind(measure.kind), units.for_kind(Kind(measure.kind))).suffix
        steps[measure.step_id].rows.append(row)
    return view
