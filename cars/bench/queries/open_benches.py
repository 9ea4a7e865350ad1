"""The benches open on cars, each with how far it has come."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Q

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue, cached_catalogue
from cars.catalogue.staleness import stale_readings
from cars.models import Car, Change, Reading, Sheet, Step
from cars.models.catalogue import Taken
from cars.sheets.queries.closed_figures import TakenFigure
from cars.sheets.queries.sheets import open_benches


@dataclass(frozen=True, slots=True)
class StepProgress:
    """A step of the order of work: what is read, and what is to be read again."""

    step: Step
    done: int
    of: int
    retakes: tuple[Key, ...]

    @property
    def is_done(self) -> bool:
        """All of it was read, and nothing is to be read again."""
        return self.done == self.of


@dataclass(frozen=True, slots=True)
class OpenBench:
    """An open sheet, its steps, and why what is to be taken again is."""

    sheet: Sheet
    steps: tuple[StepProgress, ...]
    causes: Mapping[Key, Sequence[Change]]
    readings: Sequence[TakenFigure]

    @property
    def here(self) -> StepProgress:
        """As `SheetView.open_step`: the first step with something to take; or the last."""
        return next((each for each in self.steps if not each.is_done), self.steps[-1])

    @property
    def step(self) -> Step:
        """What is next on it."""
        return self.here.step

    @property
    def is_complete(self) -> bool:
        """Nothing is left to take."""
        return all(each.is_done for each in self.steps)


def benches_to_go_on_with(cars: Iterable[Car]) -> list[OpenBench]:
    """The open benches of these cars, the one opened last first. Three queries, however many."""
    sheets = list(open_benches(cars))
    known = cached_catalogue()
    readings, changes = readings_by_sheet(sheets), changes_by_sheet(sheets)
    return [_bench(sheet, readings[sheet.pk], changes[sheet.pk], known) for sheet in sheets]


def readings_by_sheet(sheets: Sequence[Sheet], *measures: str) -> dict[UUID, list[TakenFigure]]:
    """The readings that stand on these sheets, of some measures or of all. One query."""
    readings: dict[UUID, list[TakenFigure]] = defaultdict(list)
    if sheets:
        rows = Reading.objects.current().filter(sheet__in=sheets).order_by()
        if measures:
            rows = rows.filter(measure__in=measures)
        for row in rows.values_list(*TakenFigure._fields):
            taken = TakenFigure._make(row)
            readings[taken.sheet_id].append(taken)
    return readings


def changes_by_sheet(sheets: Sequence[Sheet]) -> dict[UUID, list[Change]]:
    """Those on each sheet and on the one it follows, whose readings it may have copied."""
    before = [sheet.based_on_id for sheet in sheets if sheet.based_on_id]
    on = Q(sheet__in=sheets) | Q(sheet_id__in=before)
    rows = list(Change.objects.current().filter(on).select_related("piece")) if sheets else []
    return {
        sheet.pk: [row for row in rows if row.sheet_id in (sheet.pk, sheet.based_on_id)]
        for sheet in sheets
    }


def _bench(
    sheet: Sheet, readings: list[TakenFigure], changes: list[Change], known: Catalogue
) -> OpenBench:
    read = {Key(row.measure_id, row.spot) for row in readings if row.carried_from_id is None}
    causes = stale_readings(readings, changes, known)
    steps = tuple(_progress(step, read, causes.keys(), known) for step in known.steps)
    return OpenBench(sheet, steps, causes, readings)


def _progress(step: Step, read: set[Key], stale: Iterable[Key], known: Catalogue) -> StepProgress:
    taken = [each for each in known.of_step(step) if each.taken != Taken.DERIVED]
    keys = [Key(each.pk, spot) for each in taken for spot in each.spots]
    again = tuple(key for key in keys if key in stale)
    done = sum(key in read and key not in again for key in keys)
    return StepProgress(step, done, len(keys), again)
