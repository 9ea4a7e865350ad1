"""A whole sheet as somebody reads it: every box with its figure, target and judgement."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from uuid import UUID

from django.db.models import QuerySet

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue, catalogue
from cars.catalogue.staleness import follows, stale_readings
from cars.figures.box_entries import box_text
from cars.figures.derived import Figure, add_derived, figures_of
from cars.figures.formatting import format_change, format_figure, format_verdict
from cars.figures.judgement import FigureOutcome, Judgement, judge
from cars.figures.prediction_format import format_reach
from cars.models import BaselineValue, Change, Measure, Reading, Sheet, Spot, Step
from cars.models.catalogue import Taken
from cars.sheets.queries.changes import changes_of
from cars.sheets.queries.targets import target_source_of, targets_of
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import unit_of
from clubsetup.quantities.units import Units

SPOT_NAMES = dict(Spot.choices)


@dataclass(frozen=True, slots=True)
class Cause:
    """What asks for a figure again, and the same in the reader's words."""

    change: Change
    text: str


@dataclass(slots=True)
class Box:
    """One measure at one spot."""

    key: Key
    measure: Measure
    judgement: Judgement
    text: str = ""  # what stands in the box
    shown: str = ""  # the figure in the reader's units
    reach: Decimal | None = None  # how far off the figure may be
    spread: str = ""  # the same in the reader's units, where the figure is computed
    target: str = ""  # without its unit, which stands beside the measure
    tolerance: str = ""
    source: str = ""
    own: str = ""  # the team's own target here, without its unit
    before: str = ""
    standard: BaselineValue | None = None  # the target itself
    causes: tuple[Cause, ...] = ()  # all that asks for it again
    carried: Reading | None = None  # what stands is a copy of this, and was not read here
    from_carried: bool = False  # computed from such a figure
    wrong: str = ""  # why what was typed cannot be kept
    stands: str = ""  # what stands there all the same, and what it is to its target
    state: str = ""
    shape: str = ""
    words: str = ""
    reading_id: UUID | None = None  # of the first reading that stands here
    stood: str = ""  # its text, where `text` is what could not be kept
    is_conflict: bool = False  # somebody else wrote here meanwhile
    name: str = ""  # of its field
    html_id: str = ""  # the same without the dot, which means something in CSS

    def __post_init__(self) -> None:
        """Names it after its key."""
        self.name = str(self.key)
        self.html_id = self.name.replace(".", "--")

    @property
    def cause(self) -> Cause | None:
        """The first change that asks for it again."""
        return self.causes[0] if self.causes else None

    @property
    def display(self) -> str:
        """The figure, behind what was typed where it is rounded: '0,6 bar, about 8.7 psi'.

        In parentheses where nobody has read it here.
        """
        return f"({self.plain})" if self.is_carried else self.plain

    @property
    def plain(self) -> str:
        """The same without a word on who read it."""
        return f"{self.text}, {self.shown}" if self.is_rounded else self.shown

    @property
    def is_rounded(self) -> bool:
        """What is shown is not exactly what was typed."""
        return bool(self.text) and self.shown.startswith("about ")

    @property
    def spot(self) -> str:
        """LF, RF, ...; empty where the measure is read at one spot only."""
        return self.key.spot if len(self.measure.spots) > 1 else ""

    @property
    def spot_name(self) -> str:
        """Left front, ..."""
        return str(SPOT_NAMES[self.key.spot])

    @property
    def target_text(self) -> str:
        """'9 ± 0.5'; '12' where nothing may be off; empty without a target."""
        return f"{self.target} ± {self.tolerance}" if self.tolerance != "0" else self.target

    @property
    def is_taken(self) -> bool:
        """Something stands here."""
        return self.judgement.outcome is not FigureOutcome.NOT_TAKEN

    def refuse(self, why: str) -> None:
        """What was typed cannot be kept; what stands is told apart from it."""
        self.stands = f"{self.display}, {self.words}" if self.is_taken else "nothing yet"
        self.wrong, self.state, self.shape, self.words = why, "bad", "!", "not saved"

    @property
    def is_carried(self) -> bool:
        """What stands here was copied from another sheet, or is computed from such a figure."""
        return self.carried is not None or self.from_carried

    @property
    def is_read(self) -> bool:
        """Somebody took what stands here, for this sheet."""
        return self.is_taken and not self.is_carried

    @property
    def is_retake(self) -> bool:
        """Something earlier was changed since it was read."""
        return self.judgement.outcome is FigureOutcome.RETAKE

    @property
    def is_check(self) -> bool:
        """A box to tick."""
        return self.measure.taken == Taken.DONE

    @property
    def may_say_the_same(self) -> bool:
        """It is to be read again, or read at all, and may say what stands there."""
        return self.is_retake or (self.carried is not None and not self.is_check)


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


def find_sheet(pk: UUID) -> Sheet | None:
    """The sheet with everything its head shows, if whoever is looking may see it.

    One query joins what every sheet has; more tables in it would take PostgreSQL longer to plan
    than to read. What a sheet need not have is read when it has it.
    """
    joined = ("car__chassis", "car__race_class", "team__club", "driver", "track")
    apart = ("baseline", "based_on", "corrects", "corrected_by", "closed_by")
    sheet = Sheet.objects.select_related(*joined).prefetch_related(*apart).filter(pk=pk).first()
    if sheet is None:
        return None
    # The car may have gone to another team since; its chassis is of the sheet's club all the same.
    sheet.car.chassis.club = sheet.team.club
    if sheet.car.team_id == sheet.team_id:
        sheet.car.team = sheet.team
    if sheet.baseline and sheet.baseline.chassis_id == sheet.car.chassis_id:
        sheet.baseline.chassis = sheet.car.chassis
    return sheet


def readings_of(sheet_id: UUID, step: str = "") -> QuerySet[Reading]:
    """The readings on a sheet now; of one step, where one is named."""
    rows = Reading.objects.current().filter(sheet_id=sheet_id)
    return rows.filter(measure__step=step) if step else rows


def sheet_view(sheet: Sheet, viewer: User) -> SheetView:
    """The sheet for `viewer`, in their units. As many queries for one reading as for eighty."""
    units = viewer.units(sheet.team.club.units())
    readings = list(readings_of(sheet.pk))
    before = list(readings_of(sheet.based_on_id)) if sheet.based_on_id else []
    known = catalogue()
    targets = targets_of(sheet, target_source_of(sheet), known)
    return build(
        sheet,
        known,
        readings=readings,
        before=before,
        targets=targets,
        changes=changes_of(sheet),
        units=units,
    )


def build(
    sheet: Sheet,
    known: Catalogue,
    *,
    readings: list[Reading],
    before: list[Reading],
    targets: dict[Key, BaselineValue],
    changes: list[Change],
    units: Units,
) -> SheetView:
    """Puts the rows of a sheet together; asks the database nothing."""
    figures = add_derived(figures_of(readings))
    earlier = add_derived(figures_of(before))
    first = {Key(r.measure_id, r.spot): r for r in readings if r.take == 1}
    steps = {step.pk: StepView(step) for step in known.steps}
    for measure in known.measures.values():
        row = SheetRow(measure, [])
        if measure.kind:
            row.unit = unit_of(Kind(measure.kind), units.for_kind(Kind(measure.kind))).suffix
        for spot in measure.spots:
            key = Key(measure.pk, spot)
            box = _box(
                measure,
                key,
                figure=figures.get(key),
                reading=first.get(key),
                target=targets.get(key),
                units=units,
            )
            if key in earlier:
                box.before = format_figure(earlier[key].value, measure, units, bare=True)
            row.boxes.append(box)
        steps[measure.step_id].rows.append(row)
    view = SheetView(sheet, list(steps.values()), figures, units)
    _mark_carried(view, readings)
    for key, causes in stale_readings(readings, changes, known).items():
        _ask_again(
            view.boxes[key], tuple(Cause(each, format_change(each, units)) for each in causes)
        )
    return view


def _mark_carried(view: SheetView, readings: list[Reading]) -> None:
    """A copied figure is judged, and says that it was not read here; a copied check is open."""
    read = {Key(r.measure_id, r.spot) for r in readings if r.carried_from_id is None}
    copied = {Key(r.measure_id, r.spot): r for r in readings if r.carried_from_id is not None}
    keys = copied.keys() - read
    for key in keys:
        box = view.boxes[key]
        box.carried = copied[key]
        words = [] if box.judgement.outcome is FigureOutcome.NO_TARGET else [box.words]
        if box.measure.taken == Taken.DONE:
            box.text = box.stood = ""
            box.state, box.shape, words = "none", "○", ["not checked here"]
        box.words = "; ".join([*words, f"carried from {view.carried_word}"])
    for box in view.boxes.values():
        if box.is_taken and any(follows(box.key.measure, box.key.spot, key) for key in keys):
            box.from_carried = True
            box.words += "; from carried figures"


def _ask_again(box: Box, causes: tuple[Cause, ...]) -> None:
    """Whatever the figure was, it no longer says how the car stands."""
    box.judgement = Judgement(FigureOutcome.RETAKE, box.judgement.miss)
    box.causes, box.state, box.shape = causes, "again", "↻"
    again = "check again" if box.measure.taken == Taken.DONE else "take again"
    box.words = f"{again}: {', '.join(cause.text for cause in causes)}"


def _box(
    measure: Measure,
    key: Key,
    *,
    figure: Figure | None,
    reading: Reading | None,
    target: BaselineValue | None,
    units: Units,
) -> Box:
    if figure is None:
        outcome = FigureOutcome.NO_TARGET if reading else FigureOutcome.NOT_TAKEN
        box = Box(key, measure, Judgement(outcome))
    elif target is None:
        box = Box(key, measure, judge(figure.value, None))
    else:
        judged = judge(figure.value, target.target, target.tolerance, figure.reach)
        box = Box(key, measure, judged)
    if figure is not None:
        box.shown, box.reach = format_figure(figure.value, measure, units), figure.reach
        if figure.half_step is None and figure.reach:
            box.spread = format_reach(float(figure.reach), Kind(measure.kind), units)
    if reading is not None:
        box.text = box.stood = box_text(measure, reading.typed, reading.unit, units)
        box.reading_id = reading.pk
        box.shown = box.shown or reading.typed
    if target is not None:
        box.standard = target
        box.target = format_figure(target.target, measure, units, bare=True)
        box.tolerance = format_figure(target.tolerance, measure, units, delta=True, bare=True)
        box.source = target.source
    box.state, box.shape, box.words = format_verdict(measure, box.judgement, units)
    return box
