"""The benches open on cars, each with what comes next on it."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Q

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue, cached_catalogue
from cars.catalogue.staleness import stale_readings
from cars.models import Car, Change, Reading, Sheet, Step
from cars.models.catalogue import Taken
from cars.sheets.queries.sheets import open_benches


@dataclass(frozen=True, slots=True)
class OpenBench:
    """An open sheet, and the first step with something to take."""

    sheet: Sheet
    step: Step


def benches_to_go_on_with(cars: Iterable[Car]) -> list[OpenBench]:
    """The open benches of these cars, the one opened last first. Three queries, however many."""
    sheets = list(open_benches(cars))
    known = cached_catalogue()
    readings, changes = _readings(sheets), _changes(sheets)
    return [
        OpenBench(sheet, _next_step(readings[sheet.pk], _changes_of(sheet, changes), known))
        for sheet in sheets
    ]


def _readings(sheets: Sequence[Sheet]) -> dict[UUID, list[Reading]]:
    readings: dict[UUID, list[Reading]] = defaultdict(list)
    if sheets:
        for row in Reading.objects.current().filter(sheet__in=sheets):
            readings[row.sheet_id].append(row)
    return readings


def _changes(sheets: Sequence[Sheet]) -> list[Change]:
    """Those on the sheets and on the ones they follow, whose readings they may have copied."""
    before = [sheet.based_on_id for sheet in sheets if sheet.based_on_id]
    on = Q(sheet__in=sheets) | Q(sheet_id__in=before)
    return list(Change.objects.current().filter(on)) if sheets else []


def _changes_of(sheet: Sheet, changes: Sequence[Change]) -> list[Change]:
    return [each for each in changes if each.sheet_id in {sheet.pk, sheet.based_on_id}]


def _next_step(readings: list[Reading], changes: list[Change], known: Catalogue) -> Step:
    """As `SheetView.open_step` has it, without a view of the whole sheet."""
    read = {Key(row.measure_id, row.spot) for row in readings if row.carried_from_id is None}
    done = read - stale_readings(readings, changes, known).keys()
    for step in known.steps:
        taken = (each for each in known.of_step(step) if each.taken != Taken.DERIVED)
        if any(Key(each.pk, spot) not in done for each in taken for spot in each.spots):
            return step
    return known.steps[-1]
