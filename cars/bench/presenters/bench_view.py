"""One step of a bench as somebody sees it: what to measure, what stands, what it was before."""

from collections.abc import Container
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from uuid import UUID

from django.utils.safestring import SafeString

from cars.bench.presenters.past import Past, past_of
from cars.bench.presenters.strips import box_strip
from cars.bench.queries.past_figures import (
    last_sheets,
    names_of,
    past_figures,
    repeats_of,
    replaced_last,
)
from cars.bench.queries.versions import version_of
from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue, cached_catalogue
from cars.figures.box_entries import box_text
from cars.figures.derived import Figure
from cars.figures.formatting import format_figure
from cars.models import Measure, Reading, Sheet, Step
from cars.models.catalogue import Taken
from cars.sheets.actions.conflicts import NONE
from cars.sheets.presenters.at_track import AtTrackLines, lines_of
from cars.sheets.presenters.boxes import Box
from cars.sheets.presenters.sheet_view import SheetRow, SheetView, StepView, build
from cars.sheets.queries.at_track import changed_before, figures_at_track, follow_track
from cars.sheets.queries.changes import changes_of
from cars.sheets.queries.sheet_boxes import readings_of
from cars.sheets.queries.targets import TargetSource, target_source_of, targets_of
from clubsetup.access.models import User
from clubsetup.quantities.units import Units
from clubsetup.site.step_list import StepShown

TAKES = (1, 2, 3)
# Boxes laid out like the car seen from above.
LAYOUTS = {4: "corners", 2: "sides", 1: "one"}


@dataclass(frozen=True, slots=True)
class Take:
    """One field: a measure at a spot, read the first, second or third time."""

    key: Key
    text: str
    reading: Reading | None
    by: str = ""  # who took it, where that is not the viewer
    stood: str = ""  # the text of the reading, where `text` is what somebody else typed
    wrong: str = ""  # why what was typed cannot be kept
    conflict: str = ""  # what somebody else wrote meanwhile

    @property
    def name(self) -> str:
        return str(self.key)

    @property
    def html_id(self) -> str:
        """The name without dots, which mean something in CSS."""
        return self.name.replace(".", "--")

    @property
    def seen(self) -> str:
        """The id of the reading that stands there, or 'none'."""
        return str(self.reading.pk) if self.reading else NONE


@dataclass(slots=True)
class BenchBox:
    """A box of the step with its takes, and what it said before."""

    box: Box
    takes: list[Take]
    last_found: str = ""
    last_set: str = ""
    set_before: Decimal | None = None  # the same, canonical, for the strip
    back: str = ""  # what undo brings back
    repeats: str = ""
    carried_by: str = ""  # who read what was carried here

    @property
    def first(self) -> Take:
        return self.takes[0]

    @property
    def more(self) -> list[Take]:
        """The second and third take."""
        return self.takes[1:]

    @property
    def may_say_the_same(self) -> bool:
        """It was read, and may be read again and say the same."""
        carried = self.box.is_carried and not self.box.is_check
        return self.first.reading is not None and (self.box.is_retake or carried)

    @property
    def strip(self) -> SafeString:
        """Where its figure stands between its tolerances."""
        return box_strip(self.box, self.set_before)

    @property
    def is_close(self) -> bool:
        """Another reading would tell what one cannot."""
        return self.box.state == "close"

    @property
    def has_more(self) -> bool:
        """It was read more than once."""
        return any(take.reading or take.text for take in self.more)


@dataclass(slots=True)
class BenchRow:
    """A measure with its boxes; `letter` stands on the drawing."""

    row: SheetRow
    letter: str
    boxes: list[BenchBox]

    @property
    def layout(self) -> str:
        """How its boxes lie: corners, sides, ends, one."""
        if self.row.measure.spots == ["front", "rear"]:
            return "ends"
        return LAYOUTS.get(len(self.boxes), "corners")

    @property
    def is_repeatable(self) -> bool:
        """Read with a tool, so it can be read twice."""
        return self.row.measure.taken == Taken.QUANTITY and self.row.measure.kind != "count"


@dataclass
class BenchView:
    """A sheet open on the bench at one step."""

    sheet: Sheet
    view: SheetView
    here: StepView
    known: Catalogue
    target_source: TargetSource
    version: str
    rows: list[BenchRow] = field(default_factory=list)
    past: list[Past] = field(default_factory=list)
    at_track: AtTrackLines | None = None

    @cached_property
    def takes(self) -> dict[Key, Take]:
        """Every field of the step by its key."""
        return {t.key: t for row in self.rows for box in row.boxes for t in box.takes}

    @cached_property
    def boxes(self) -> list[BenchBox]:
        """The boxes of the step, computed ones too."""
        return [box for row in self.rows for box in row.boxes]

    @cached_property
    def steps_shown(self) -> list[StepShown]:
        """The steps as segments, in the order of work."""
        return [
            StepShown(
                order=each.step.order,
                name=each.step.name,
                url="",
                is_done=each.taken == each.of,
                off=each.off + each.refused,
                retake=str(each.retakes or ""),
            )
            for each in self.view.steps
        ]

    @property
    def here_shown(self) -> StepShown:
        """The step that is worked at, among them."""
        return self.steps_shown[self.view.steps.index(self.here)]

    @property
    def has_one_measure(self) -> bool:
        """One measure is taken in the step: its name is the step's."""
        return sum(not row.row.is_derived for row in self.rows) == 1

    @property
    def later(self) -> list[Step]:
        """The steps whose readings a change in this one makes stale."""
        return [self.known.step(slug) for slug in self.here.step.makes_stale]

    @property
    def previous(self) -> Step | None:
        """The step before."""
        return self._neighbour(-1)

    @property
    def next(self) -> Step | None:
        """The step after."""
        return self._neighbour(1)

    def _neighbour(self, by: int) -> Step | None:
        steps = self.known.steps
        place = [step.pk for step in steps].index(self.here.step.pk) + by
        return steps[place] if 0 <= place < len(steps) else None


def first_open_step(sheet: Sheet, viewer: User) -> Step:
    """Where to go on: the first step with something not taken or to be taken again."""
    return whole_view(sheet, viewer).open_step


def whole_view(sheet: Sheet, viewer: User) -> SheetView:
    """All steps, judged by the targets of the sheet."""
    known, source = cached_catalogue(), target_source_of(sheet)
    return _sheet_view(sheet, viewer, known, source, list(readings_of(sheet.pk)), "")


def bench_view(
    sheet: Sheet, viewer: User, step: str, *, past: bool = True, only_here: bool = False
) -> BenchView:
    """The bench at a step. Raises KeyError where there is no such step.

    `past`: with the last found and set figures. `only_here`: of the other steps nothing; what a
    reading changes is in its own step. As many queries for one reading as for eighty.
    """
    known = cached_catalogue()
    within = step if only_here else ""
    if only_here:
        here = known.of_step(known.step(step))
        known = Catalogue(known.steps, {measure.pk: measure for measure in here})
    written = {Key(m.pk, spot) for m in known.of_step(known.step(step)) for spot in m.spots}
    version = version_of(sheet.pk) or ""
    readings = list(readings_of(sheet.pk, within))
    source = target_source_of(sheet)
    view = _sheet_view(sheet, viewer, known, source, readings, within, written)
    shown = next(each for each in view.steps if each.step.pk == step)
    bench = BenchView(sheet, view, shown, known, source, version)
    _fill(bench, readings, viewer)
    if past:
        _show_past(bench, viewer)
    return bench


def _sheet_view(  # noqa: PLR0917 (the parts of a view)
    sheet: Sheet,
    viewer: User,
    known: Catalogue,
    target_source: TargetSource,
    readings: list[Reading],
    step: str,
    written: Container[Key] | None = None,
) -> SheetView:
    targets = targets_of(sheet, target_source, known, step)
    return build(
        sheet,
        known,
        readings=readings,
        before=[],
        targets=follow_track(sheet, target_source, targets, viewer),
        changes=changes_of(sheet),
        units=viewer.units(sheet.team.club.units()),
        written=written,
    )


def _fill(bench: BenchView, readings: list[Reading], viewer: User) -> None:
    step = bench.here.step.pk
    by_key = {Key(row.measure_id, row.spot, row.take): row for row in readings}
    back = replaced_last(bench.sheet.pk, step)
    people = names_of({row.by_id for row in by_key.values()} - {viewer.pk})
    for place, row in enumerate(bench.here.rows):
        boxes = [_bench_box(bench, box, by_key, back, people) for box in row.boxes]
        for each in boxes:
            if each.box.carried:
                each.carried_by = people.get(each.box.carried.by_id, str(viewer))
        bench.rows.append(BenchRow(row, chr(ord("A") + place), boxes))


def _bench_box(
    bench: BenchView,
    box: Box,
    by_key: dict[Key, Reading],
    back: dict[Key, Reading],
    people: dict[UUID, str],
) -> BenchBox:
    units = bench.view.units
    takes = []
    for number in TAKES:
        key = Key(box.key.measure, box.key.spot, number)
        reading = by_key.get(key)
        text = box_text(box.measure, reading.typed, reading.unit, units) if reading else ""
        if reading and reading.carried_from_id and box.measure.taken == Taken.DONE:
            text = ""  # nobody has looked here
        takes.append(Take(key, text, reading, people.get(reading.by_id, "") if reading else ""))
    bench_box = BenchBox(box, takes, repeats=_repeats(box.measure, takes, units))
    if before := back.get(box.key):
        text = box_text(box.measure, before.typed, before.unit, units)
        bench_box.back = text if text != bench_box.first.text else ""
    return bench_box


def _repeats(measure: Measure, takes: list[Take], units: Units) -> str:
    """'mean 2 5/16 in of 2, spread 1/16 in', where it was read more than once."""
    repeats = repeats_of([take.reading for take in takes if take.reading])
    if repeats is None:
        return ""
    return (
        f"mean {format_figure(repeats.mean, measure, units)} of {repeats.count}, "
        f"spread {format_figure(repeats.spread, measure, units, delta=True)}"
    )


def _show_past(bench: BenchView, viewer: User) -> None:
    """The figures of the last found and the last set sheet beside the new ones.

    What was changed at the track since it was set: as it should read now, or nothing.
    """
    units, last = bench.view.units, last_sheets(bench.sheet)
    said = past_figures(list(last.values()), bench.known.of_step(bench.here.step))
    past: list[Sheet] = []
    changed = changed_before(bench.sheet)
    for role, sheet in last.items():
        figures: dict[Key, Figure | None] = {**said.get(sheet.pk, {})}
        if changed is not None and sheet.pk in changed.versions:
            figures |= figures_at_track(changed.since, viewer, changed.until)
        for each in bench.boxes:
            if figure := figures.get(each.box.key):
                text = format_figure(figure.value, each.box.measure, units, bare=True)
                setattr(each, f"last_{role}", text)
                if role == Sheet.Role.SET:
                    each.set_before = figure.value
                if sheet not in past:
                    past.append(sheet)
    bench.past = past_of(past, bench.sheet.surface)
    bench.at_track = lines_of(changed, units, cached_catalogue()) if changed else None
