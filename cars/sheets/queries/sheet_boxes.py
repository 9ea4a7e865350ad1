"""The boxes of a sheet in figures: what stands in each, its target, and what became of it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from django.db.models import QuerySet

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue
from cars.catalogue.staleness import SOURCES, follows, stale_readings
from cars.figures.derived import Figure, add_derived, figures_of
from cars.figures.judgement import FigureOutcome, Judgement, judge
from cars.models import BaselineValue, Change, Measure, Reading
from cars.models.catalogue import Taken


@dataclass(slots=True)
class SheetBox:
    """One measure at one spot."""

    key: Key
    measure: Measure
    judgement: Judgement
    figure: Figure | None = None
    reading: Reading | None = None  # the first one that stands here
    standard: BaselineValue | None = None  # the target itself
    earlier: Figure | None = None  # what stood on the sheet before
    asked_by: tuple[Change, ...] = ()  # all that asks for it again
    carried: Reading | None = None  # what stands is a copy of this, and was not read here
    from_carried: bool = False  # computed from such a figure

    @property
    def reach(self) -> Decimal | None:
        """How far off the figure may be."""
        return self.figure.reach if self.figure else None

    @property
    def reading_id(self) -> UUID | None:
        """Of the first reading that stands here."""
        return self.reading.pk if self.reading else None

    @property
    def is_taken(self) -> bool:
        """Something stands here."""
        return self.judgement.outcome is not FigureOutcome.NOT_TAKEN

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


def readings_of(sheet_id: UUID, step: str = "") -> QuerySet[Reading]:
    """The readings on a sheet now; of one step, where one is named."""
    rows = Reading.objects.current().filter(sheet_id=sheet_id)
    return rows.filter(measure__step=step) if step else rows


def sheet_boxes(
    known: Catalogue,
    *,
    readings: list[Reading],
    before: list[Reading],
    targets: Mapping[Key, BaselineValue],
    changes: Iterable[Change],
) -> dict[Key, SheetBox]:
    """Every box of the catalogue, in the order of work; asks the database nothing."""
    figures = add_derived(figures_of(readings))
    earlier = add_derived(figures_of(before))
    first = {Key(r.measure_id, r.spot): r for r in readings if r.take == 1}
    boxes = {}
    for measure in known.measures.values():
        for spot in measure.spots:
            key = Key(measure.pk, spot)
            figure, reading, target = figures.get(key), first.get(key), targets.get(key)
            judged = _judged(figure, reading, target)
            boxes[key] = SheetBox(key, measure, judged, figure, reading, target, earlier.get(key))
    _mark_carried(boxes, readings)
    for key, causes in stale_readings(readings, changes, known).items():
        # Whatever the figure was, it no longer says how the car stands.
        box = boxes[key]
        box.judgement = Judgement(FigureOutcome.RETAKE, box.judgement.miss)
        box.asked_by = tuple(causes)
    return boxes


def _judged(
    figure: Figure | None, reading: Reading | None, target: BaselineValue | None
) -> Judgement:
    if figure is None:
        return Judgement(FigureOutcome.NO_TARGET if reading else FigureOutcome.NOT_TAKEN)
    if target is None:
        return judge(figure.value, None)
    return judge(figure.value, target.target, target.tolerance, figure.reach)


def _mark_carried(boxes: dict[Key, SheetBox], readings: Iterable[Reading]) -> None:
    """A copied figure is judged, and is known not to have been read here."""
    rows = list(readings)
    read = {Key(r.measure_id, r.spot) for r in rows if r.carried_from_id is None}
    copied = {Key(r.measure_id, r.spot): r for r in rows if r.carried_from_id is not None}
    keys = copied.keys() - read
    for key in keys:
        boxes[key].carried = copied[key]
    for box in boxes.values():
        box.from_carried = (
            box.key.measure in SOURCES
            and box.is_taken
            and any(follows(box.key.measure, box.key.spot, key) for key in keys)
        )
